"""Which inputs decide the answers of a line, how sure each verdict is, what to measure first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.answers.answer_inputs import InputAnswers
from packsim.doubt.action import Action
from packsim.doubt.confidence import CASES, Confidence, confidence, rng_of
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.shares import OUTCOMES, Share, shares
from packsim.doubt.tornado import InputSwing, tornado
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.line.input_range import InputRange

_LEFT: Final = OUTCOMES.index("slack_left_mm")
_VERDICT: Final = len(OUTCOMES)


@dataclass(frozen=True, slots=True)
class Gain:
    """What one measurement does for one stage and size.

    Parameters
    ----------
    action : Action
        What to measure.
    narrows : float
        Share of the variance of the slack left that goes with it [-].
    settles : float
        Share of the doubt in the verdict that goes with it [-].
    """

    action: Action
    narrows: float
    settles: float


@dataclass(frozen=True, slots=True)
class StageDoubt:
    """What is in doubt about one stage with one can size.

    Parameters
    ----------
    stage, size : str
        Names of both.
    confidence : Confidence
        The verdict, and in what share of what is possible it stands.
    inputs : tuple of InputRange
        Everything the answer depends on that may be other than it is taken.
    swings : tuple of InputSwing
        What each does alone, the largest swing of the tip index first.
    shares : tuple of Share
        Where the scatter comes from when all are drawn at once.
    settled : tuple of Share
        What each measurement would settle, by its name.
    """

    stage: str
    size: str
    confidence: Confidence
    inputs: tuple[InputRange, ...]
    swings: tuple[InputSwing, ...]
    shares: tuple[Share, ...]
    settled: tuple[Share, ...]

    @property
    def verdict(self) -> str:
        """The verdict of the answer, every input as it is taken."""
        return self.confidence.verdict

    @property
    def doubt(self) -> float:
        """Doubt in the verdict: 1 where it stands in half of what is possible, 0 in all or none."""
        return 4.0 * self.confidence.share * (1.0 - self.confidence.share)

    @property
    def gains(self) -> tuple[Gain, ...]:
        """What each measurement does here."""
        named = {action.name: action for action in ACTIONS}
        return tuple(
            Gain(named[one.name], _part(one.first[_LEFT]), _part(one.first[_VERDICT]))
            for one in self.settled
        )

    def swing_of(self, key: str) -> InputSwing | None:
        """Return what an input does alone; None where it does nothing."""
        return next((one for one in self.swings if one.input.key == key), None)


@dataclass(frozen=True, slots=True)
class Measure:
    """One measurement and what it is worth.

    Parameters
    ----------
    action : Action
        What to do, what to write down, with which tools.
    inputs : tuple of InputRange
        What it settles.
    minutes : float
        How long it takes, assumed [min].
    narrows, settles : float
        Mean over stages and sizes of the shares of `Gain`, the doubt in each verdict weighed in
        the second [-].
    within : tuple of (str, float)
        How exactly an input must be known for no verdict to turn by it alone, by key, in its own
        units; inputs that turn none are left out.
    """

    action: Action
    inputs: tuple[InputRange, ...]
    minutes: float
    narrows: float
    settles: float
    within: tuple[tuple[str, float], ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the inputs it settles."""
        return tuple(one.key for one in self.inputs)

    @property
    def worth_per_min(self) -> float:
        """What it gives for a minute: the mean of both shares over the minutes [1/min]."""
        return (self.narrows + self.settles) / 2.0 / max(self.minutes, 1.0)


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is in doubt about a line.

    Parameters
    ----------
    scenario : str
        Its title.
    seed : int
        Seed of everything drawn.
    cases : int
        Cases drawn for each verdict.
    places : tuple of StageDoubt
        Each stage with each size that was asked about.
    measures : tuple of Measure
        What to measure, what is worth most for a minute first.
    """

    scenario: str
    seed: int
    cases: int
    places: tuple[StageDoubt, ...]
    measures: tuple[Measure, ...]

    def place(self, stage: str, size: str) -> StageDoubt:
        """Return what is in doubt about one stage and size that was asked about."""
        return next(one for one in self.places if (one.stage, one.size) == (stage, size))


def doubt(
    scenario: Scenario,
    size: str | Sequence[str] | None = None,
    stage: str | Sequence[str] | None = None,
    *,
    rng: np.random.Generator | None = None,
    progress: Callable[[float, int], None] | None = None,
) -> Doubt:
    """Find which inputs decide the answers of a line, and what to measure first.

    Parameters
    ----------
    scenario : Scenario
        The line, read from a file: its ranges say how well each input is known.
    size, stage : str or sequence of str, optional
        Only these; all where left out.
    rng : numpy.random.Generator, optional
        Gives the seed; that of the scenario is the seed where left out.
    progress : callable, optional
        Told how many stages with a size are done, and of how many.

    Returns
    -------
    Doubt
        Verdicts and their shares, tornados, indices, and measurements. Each stage and size has
        draws of its own: what else is asked about does not change them.

    Raises
    ------
    InputError
        If a name is unknown, or no input has a range.

    Examples
    --------
    >>> from packsim import load_scenario
    >>> found = doubt(load_scenario("scenarios/first_look.toml"))
    >>> found.places[0].swings[0].input.key, found.measures[0].action.each
    ('stages[0].rows', 'stage')
    """
    if not len(scenario.ranges):
        raise InputError("ranges", "none", "a scenario read from a file, whose inputs have ranges")
    seed = scenario.seed if rng is None else int(rng.integers(2**63))
    stages = [scenario.stage(name).name for name in _names(stage)] or [
        one.name for one in scenario.stages
    ]
    sizes = [scenario.size(name).name for name in _names(size)] or [
        one.name for one in scenario.sizes
    ]
    asked = [(one, other) for one in stages for other in sizes]
    places = []
    for k, (one, other) in enumerate(asked):
        if progress is not None:
            progress(k, len(asked))
        places.append(_of_place(InputAnswers(scenario, one, other), seed))
    return Doubt(scenario.name, seed, CASES, tuple(places), _measures(places))


def _names(given: str | Sequence[str] | None) -> Iterator[str]:
    yield from (given,) if isinstance(given, str) else given or ()


def _of_place(near: InputAnswers, seed: int) -> StageDoubt:
    rng = rng_of(near.scenario, near.stage, near.size, seed)
    sure, swings = confidence(near, rng), tornado(near)
    found, settled = shares(near, swings, sure.verdict, rng, actions=ACTIONS)
    return StageDoubt(
        stage=near.stage,
        size=near.size,
        confidence=sure,
        inputs=near.inputs,
        swings=swings,
        shares=found,
        settled=settled,
    )


def _part(index: float) -> float:
    return min(1.0, max(0.0, index))


def _measures(places: Sequence[StageDoubt]) -> tuple[Measure, ...]:
    """Measurements of all places, ranked."""
    gains = [(gain, place) for place in places for gain in place.gains]
    known = {one.key: one for place in places for one in place.inputs}
    found = []
    for action in ACTIONS:
        some = [(gain, place) for gain, place in gains if gain.action is action]
        inputs = tuple(one for one in known.values() if action.settled(one.key))
        if some:
            found.append(
                Measure(
                    action=action,
                    inputs=inputs,
                    minutes=action.takes_min(inputs),
                    narrows=sum(gain.narrows for gain, _ in some) / len(places),
                    settles=sum(gain.settles * at.doubt for gain, at in some) / len(places),
                    within=_within(inputs, places),
                )
            )
    return tuple(sorted(found, key=lambda one: -one.worth_per_min))


def _within(
    inputs: Sequence[InputRange], places: Sequence[StageDoubt]
) -> tuple[tuple[str, float], ...]:
    """How exactly each input must be known, the strictest of all places."""
    found = []
    for one in inputs:
        swings = (place.swing_of(one.key) for place in places)
        off = [swing.known_within for swing in swings if swing is not None]
        off = [each for each in off if not np.isnan(each)]
        if off:
            found.append((one.key, min(off)))
    return tuple(found)
