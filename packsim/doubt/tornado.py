"""What each input does alone: the answer at both ends of its range, the others as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from packsim.answers import answer_stage
from packsim.answers.answer_inputs import InputAnswers, as_it_is
from packsim.answers.many_answers import ManyAnswers
from packsim.arrays import Bools, Floats
from packsim.line.input_range import InputRange

QUANTITIES: Final = ("tip_index", "safe_slack_mm", "loosest_slack_mm", "window_width_mm")
"""What the swings are of: tip index of the worst case, safe slack, worst-case slack, and width of
the guide window, below 0 by what is missing."""

MOST_INDEX: Final = 5.0
"""A larger tip index counts as this one: where nothing stops a can it has no end."""

_OFF: Final = 0.01  # share a quantity is off at most: beyond it is of another pack
_OFF_MM: Final = 0.3  # and a window, a difference of two lengths
_STEPS: Final = 33  # values of an input looked at for the nearest at which the verdict turns
_FINER: Final = 3  # times, each a step of the one before


def bounded_index(found: ManyAnswers) -> Floats:
    """Return the tip index of every answer, none above `MOST_INDEX`."""
    return np.minimum(np.nan_to_num(found.tip_index, nan=MOST_INDEX), MOST_INDEX)


@dataclass(frozen=True, slots=True)
class InputSwing:
    """What one input does by itself.

    Parameters
    ----------
    input : InputRange
        The input, its value and its ends.
    low, high : tuple of float
        Each of `QUANTITIES` with the input at its low and at its high end.
    now : tuple of float
        The same with every input as it is.
    verdicts : tuple of str
        The verdict at the low and at the high end.
    turns : tuple of float
        Nearest value below and above at which the verdict is another one, in the input's own
        units; nan where it never turns.
    """

    input: InputRange
    low: tuple[float, ...]
    high: tuple[float, ...]
    now: tuple[float, ...]
    verdicts: tuple[str, str]
    turns: tuple[float, float]

    def swing(self, quantity: str) -> float:
        """Return largest less least of a quantity, at the ends and as it is."""
        k = QUANTITIES.index(quantity)
        some = self.low[k], self.high[k], self.now[k]
        return max(some) - min(some) if np.isfinite(some).all() else np.inf * (len(set(some)) > 1)

    @property
    def at_low(self) -> dict[str, float]:
        """Each of `QUANTITIES` by name, the input at its low end."""
        return dict(zip(QUANTITIES, self.low, strict=True))

    @property
    def at_high(self) -> dict[str, float]:
        """The same, the input at its high end."""
        return dict(zip(QUANTITIES, self.high, strict=True))

    @property
    def as_taken(self) -> dict[str, float]:
        """The same, every input as it is."""
        return dict(zip(QUANTITIES, self.now, strict=True))

    @property
    def known_within(self) -> float:
        """How far off the input may be for the verdict not to turn by it alone; nan: it may be."""
        off = [abs(turn - self.input.value) for turn in self.turns if not np.isnan(turn)]
        return min(off, default=np.nan)


def quantities_of(found: ManyAnswers) -> Floats:
    """Return each of `QUANTITIES`, shape (4, n); NaN where nothing fits."""
    return np.array([getattr(found, name) for name in QUANTITIES])


def tornado(near: InputAnswers) -> tuple[InputSwing, ...]:
    """Return what every input does alone, the one that swings the tip index most first.

    Parameters
    ----------
    near : InputAnswers
        The stage and the size.

    Returns
    -------
    tuple of InputSwing
        One for each input that changes an answer or a verdict.
    """
    inputs = near.inputs
    steps = [_steps(one) for one in inputs]
    found = alone(near, inputs, steps)
    told, words = _as_answered(near, quantities_of(found)), found.verdict
    here, now = told[:, -1], str(words[-1])
    starts = np.cumsum([0, *map(len, steps)])
    turned = [words[a:b] != now for a, b in pairwise(starts)]
    turns = _turns(near, inputs, steps, turned, now)
    swings = []
    for k, one in enumerate(inputs):
        low, high = starts[k], starts[k + 1] - 1
        swing = InputSwing(
            input=one,
            low=tuple(told[:, low].tolist()),
            high=tuple(told[:, high].tolist()),
            now=tuple(here.tolist()),
            verdicts=(str(words[low]), str(words[high])),
            turns=turns[k],
        )
        if any(swing.swing(name) > 0.0 for name in QUANTITIES) or turned[k].any():
            swings.append(swing)
    return tuple(sorted(swings, key=lambda one: -one.swing("tip_index")))


def _as_answered(near: InputAnswers, told: Floats) -> Floats:
    """Return quantities moved to the answer in full, the last case, as every command tells it.

    Those near it are read from sprays looked at in fewer leans, and off by some thousandths.
    """
    full = answer_stage(near.scenario, near.stage, near.size)
    safe = full.tipping.safe.slack_mm
    want = (full.tipping.loosest.worst, safe, full.budget.loosest_mm, full.window.width_mm)
    off = np.array(want) - told[:, -1]
    known = np.isfinite(off) & (np.abs(off) <= _OFF * np.abs(want) + _OFF_MM)
    return told + np.where(known, off, 0.0)[:, None]


def _steps(one: InputRange) -> Floats:
    """Values of an input from its low to its high end; of a choice, each word."""
    if one.choices:
        return np.arange(len(one.choices), dtype=np.float64)
    return np.linspace(one.low, one.high, _STEPS)


def alone(near: InputAnswers, inputs: Sequence[InputRange], steps: Sequence[Floats]) -> ManyAnswers:
    """Answers with one input after the other at some values, and last with all as they are."""
    count = sum(map(len, steps)) + 1
    rows = {one.key: np.full(count, as_it_is(one)) for one in inputs}
    start = 0
    for one, values in zip(inputs, steps, strict=True):
        rows[one.key][start : start + len(values)] = values
        start += len(values)
    return near.answers(rows)


def _turns(
    near: InputAnswers,
    inputs: Sequence[InputRange],
    steps: Sequence[Floats],
    turned: Sequence[Bools],
    now: str,
) -> list[tuple[float, float]]:
    """Nearest values below and above at which the verdict turns, each step made finer."""
    places = [(k, side) for k in range(len(inputs)) for side in (0, 1)]
    bounds = {}
    for k, side in places:
        bracket = _bracket(inputs[k], steps[k], turned[k], side)
        if bracket is not None:
            bounds[k, side] = bracket
    for _ in range(_FINER):
        if not bounds:
            break
        finer = {at: np.linspace(*ends, _STEPS) for at, ends in bounds.items()}
        found = alone(near, [inputs[k] for k, _ in finer], list(finer.values()))
        start = 0
        for at, values in finer.items():
            other = found.verdict[start : start + _STEPS] != now
            start += _STEPS
            first = int(np.argmax(other)) if other.any() else _STEPS - 1
            bounds[at] = float(values[max(first - 1, 0)]), float(values[first])
    return [
        (bounds.get((k, 0), (0.0, np.nan))[1], bounds.get((k, 1), (0.0, np.nan))[1])
        for k in range(len(inputs))
    ]


def _bracket(
    one: InputRange, values: Floats, turned: Bools, side: int
) -> tuple[float, float] | None:
    """Return the last value at which the verdict stands, and the next at which it does not."""
    beyond = values < one.value if side == 0 else values > one.value
    some = values[beyond & turned]
    if not len(some):
        return None
    far = float(some.max() if side == 0 else some.min())
    if one.choices:
        return far, far
    between = values[beyond & (np.abs(values - one.value) < abs(far - one.value))]
    inner = [one.value] if not len(between) else [between.min() if side == 0 else between.max()]
    return float(inner[0]), far
