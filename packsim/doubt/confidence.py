"""How sure a verdict is: the share of what is possible in which it stands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from packsim.answers import answer_stage
from packsim.answers.answer_inputs import InputAnswers
from packsim.answers.many_answers import ManyAnswers
from packsim.arrays import Floats
from packsim.errors import whole, whole_percent
from packsim.line import InputRange, Scenario

CASES: Final = 1000
"""Cases drawn for one stage and size: the share is then right to 3 % or better."""

VERDICTS: Final = ("held", "loose", "can tip", "tight")
MOVES: Final = ("close", "open", "stays", "no width")
"""What the guides of a case want: to be closed into its guide window, opened into it, nothing, or
what no width gives."""
OPEN_BELOW: Final = 0.95
"""What is so in less of what is possible is open: one case in twenty may be another."""
_DEVIATIONS: Final = 1.959964  # of a 95 % interval


@dataclass(frozen=True, slots=True)
class Confidence:
    """In what share of what is possible a verdict stands.

    Parameters
    ----------
    verdict : str
        The verdict of the answer, every input as it is taken.
    shares : tuple of float
        Share of the cases with each of `VERDICTS` [-].
    low, high : float
        95 % interval of the share in which the verdict stands: what so many cases can tell [-].
    cases : int
        Cases drawn.
    moves : tuple of float
        Share of the cases with each of `MOVES` [-].
    """

    verdict: str
    shares: tuple[float, ...]
    low: float
    high: float
    cases: int
    moves: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)

    @property
    def share(self) -> float:
        """Share of what is possible in which the verdict stands [-]."""
        return self.shares[VERDICTS.index(self.verdict)]

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of that share [-]."""
        return self.low, self.high

    @property
    def share_by_verdict(self) -> dict[str, float]:
        """Share of what is possible with each verdict [-]."""
        return dict(zip(VERDICTS, self.shares, strict=True))

    @property
    def share_by_move(self) -> dict[str, float]:
        """Share of what is possible in which the guides want each of `MOVES` [-]."""
        return dict(zip(MOVES, self.moves, strict=True))

    @property
    def others(self) -> tuple[tuple[str, float], ...]:
        """Every other verdict there may be and its share, the largest first."""
        pairs = zip(VERDICTS, self.shares, strict=True)
        some = [(word, share) for word, share in pairs if share > 0.0 and word != self.verdict]
        return tuple(sorted(some, key=lambda pair: -pair[1]))

    @property
    def said(self) -> str:
        """The verdict and its share, in words.

        Examples
        --------
        >>> Confidence("held", (0.93, 0.05, 0.02, 0.0), 0.91, 0.95, 1000).said
        'held in 93 % of what is possible'
        """
        return f"{self.verdict} in {whole_percent(self.share)} of what is possible"

    @property
    def open(self) -> bool:
        """Whether the verdict may be another one in more than one case of twenty."""
        return self.share < OPEN_BELOW


def share_interval(count: int, of: int) -> tuple[float, float]:
    """Two-sided 95 % interval of a share, from a count among independent cases.

    Parameters
    ----------
    count, of : int
        Cases in which something is so, and all of them, 1 or more.

    Returns
    -------
    low, high : float
        Wilson's score interval, [wilson1927]_ [-].

    Examples
    --------
    >>> [round(end, 4) for end in share_interval(10, 10)]
    [0.7225, 1.0]
    """
    whole("of", of, 1, 2**53, "a whole number above 0")
    z2, p = _DEVIATIONS**2, count / of
    middle, base = p + z2 / (2.0 * of), 1.0 + z2 / of
    half = _DEVIATIONS * math.sqrt(p * (1.0 - p) / of + z2 / (4.0 * of * of))
    return max(0.0, (middle - half) / base), min(1.0, (middle + half) / base)


def rng_of(scenario: Scenario, stage: str, size: str, seed: int) -> np.random.Generator:
    """Return the generator of one stage and size: what else is asked about does not matter."""
    i = scenario.stages.index(scenario.stage(stage))
    return np.random.default_rng([seed, i, scenario.sizes.index(scenario.size(size))])


def values_at(inputs: Sequence[InputRange], shares: Floats) -> dict[str, Floats]:
    """Return values of inputs by key from shares of what is possible, shape (inputs, n)."""
    return {one.key: one.at_shares(row) for one, row in zip(inputs, shares, strict=True)}


def confidence(near: InputAnswers, rng: np.random.Generator, cases: int = CASES) -> Confidence:
    """Return in what share of what is possible the verdict of one stage and size stands.

    Parameters
    ----------
    near : InputAnswers
        The stage and the size.
    rng : numpy.random.Generator
        Draws the cases; `rng_of` has the one of each stage and size.
    cases : int
        Cases to draw.

    Returns
    -------
    Confidence
        Every input drawn from its range, independent of the others; nobody's skill at guessing
        ranges is part of the interval.

    Raises
    ------
    InputError
        If a name is unknown.
    """
    whole("cases", cases, 1, 1_000_000, "1 to a million cases")
    said = answer_stage(near.scenario, near.stage, near.size).tipping.verdict
    drawn = values_at(near.inputs, rng.random((len(near.inputs), cases)))
    found = near.answers(drawn)
    words, wanted = (np.resize(each, cases) for each in (found.verdict, moves_wanted(found)))
    shares, moves = (
        tuple((each == name).mean().item() for name in names)
        for each, names in ((words, VERDICTS), (wanted, MOVES))
    )
    ends = share_interval(int((words == said).sum()), cases)
    return Confidence(said, shares, *ends, cases, moves)


def moves_wanted(found: ManyAnswers) -> NDArray[np.str_]:
    """Return which of `MOVES` the guides want in each case, for the lanes it is judged by."""
    width, none = found.clear_width_mm, (found.lanes == 0) | (found.window_missing_mm > 0.0)
    inside = np.where(width < found.window_low_mm, "open", "stays")
    wanted = np.where(width > found.window_high_mm, "close", inside)
    return np.where(none, "no width", wanted)
