"""The chance of a tip held against what the line is known to have done.

A count is explained where the model leaves room for it. Where it is not, one thing at a time is
changed until it would be; and the kick energies are fitted to all counts, for forecasts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

from packsim.chance.curve import Curve
from packsim.chance.line_chance import ACCURACY, SIDES, LineChance, chance_of
from packsim.chance.past_part import curve_of_part, fitted_factor, log_ratio, part_of, room_of
from packsim.chance.rate import Rate
from packsim.counts.intervals import per_million_interval
from packsim.line import Bracket, PastCount, Scenario, Stage

Progress = Callable[[float, int], None]

WIDER_MM, EMPTIER = (-3.0, 3.0), (-0.03,)
"""Errors of the clear width [mm], and shares of the cans missing, that are tried."""

ROUGHLY = 0.5
"""Relative error asked of passages that only bracket a cause."""

CLOSER = 3
"""Passages at the place where a cause is looked for, each nearer to it than the one before."""

MOST_TIMES = 1000.0
"""More, or fewer, times the kicks explain nothing: nobody is that wrong about how often one comes
(our choice). The model then has next to no tips to multiply."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that would make a count what the model expects.

    Parameters
    ----------
    what : {"kick energy", "kick rate", "pack enters", "clear width", "fill"}
        What would have to be otherwise.
    value : float or str
        A factor, a side of entry, an error of the width as noted [mm], or a fill [-].
    interval : tuple of float or None
        Its 95 % interval, where the counts give one.
    """

    what: str
    value: float | str
    interval: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """One count of the line beside what the model expects.

    Parameters
    ----------
    past : PastCount
        The count.
    counted_interval : tuple of float
        Its exact 95 % interval, tips per million.
    expected : Rate
        What the model expects of the line as it was, at its kicks.
    room : tuple of float
        Counts per million that the model leaves room for in 95 of 100 cases: its own error and that
        of counting.
    causes : tuple of Cause
        What would explain the count where this does not, each by itself; empty where it does.
    """

    past: PastCount
    counted_interval: tuple[float, float]
    expected: Rate
    room: tuple[float, float]
    causes: tuple[Cause, ...] = ()

    @property
    def explained(self) -> bool:
        """Whether the model leaves room for the count."""
        return self.room[0] <= self.past.tips_per_million <= self.room[1]


@dataclass(frozen=True, slots=True)
class History:
    """What the line is known to have done, beside the model.

    Parameters
    ----------
    counts : tuple of Compared
        Every count of the scenario.
    factor : float
        Multiple of all kick energies that fits the counts best; nan where none does [-].
    factor_interval : tuple of float
        Its 95 % interval; an end at either end of `FACTORS` is open [-].
    """

    counts: tuple[Compared, ...]
    factor: float
    factor_interval: tuple[float, float]

    @property
    def explained(self) -> bool:
        """Whether the model, as the scenario has it, leaves room for every count."""
        return all(one.explained for one in self.counts)

    def foretold(self, chance: LineChance) -> Rate:
        """Return a forecast for the whole line with the kick energies that fit its history.

        Its interval is that of the passages and of the factor together.
        """
        best, low, high = (
            chance.at({stage: factor * kick for stage, kick in chance.kicks_mJ.items()}).line
            for factor in (self.factor, *self.factor_interval)
        )
        mean = best.tips_per_million
        if not mean > 0.0:
            return best
        down = math.hypot(log_ratio(mean, best.interval[0]), log_ratio(mean, low.tips_per_million))
        up = math.hypot(log_ratio(best.interval[1], mean), log_ratio(high.tips_per_million, mean))
        interval = (mean * math.exp(-down), min(1e6, mean * math.exp(up)))
        return Rate(mean, interval, best.error)


def compare_history(scenario: Scenario, progress: Progress | None = None) -> History:
    """Hold the chance of a tip against every count of a scenario's history.

    Parameters
    ----------
    scenario : Scenario
        With at least one count.
    progress : callable, optional
        Called with the passages done and the most there may be.

    Returns
    -------
    History
        Counts by stage or place are held against that part. The tips of a count are taken as
        independent; where they come in clusters it says less than this takes it to.
    """
    tried = len(SIDES) - 1 + len(WIDER_MM) + len(EMPTIER) + 2 * CLOSER
    most, done = len(scenario.history) * (1 + tried), 0

    def of(
        line: Scenario, past: PastCount, side: float | None = None, accuracy: float = ACCURACY
    ) -> LineChance:
        nonlocal done
        stages = line.stages
        if past.stage:
            stages = stages[: [stage.name for stage in stages].index(past.stage) + 1]
        found = chance_of(line.with_stages(stages), past.size, side, accuracy)
        done += 1
        if progress is not None:
            progress(done, most)
        return found

    rows, curves = [], []
    for past in scenario.history:
        was = scenario.as_it_was(past)
        chance = of(was, replace(past, stage=""))
        curve = curve_of_part(chance, past)
        expected = part_of(chance, past)
        counted = per_million_interval(past.tipped, past.cans)
        one = Compared(past, counted, expected, room_of(expected, past.cans))
        if not one.explained and not chance.reason:
            one = replace(one, causes=tuple(_causes(one, curve, was, of)))
        rows.append(one)
        curves.append(curve)
    if progress is not None:
        progress(most, most)
    factor, interval = fitted_factor(scenario.history, curves)
    return History(tuple(rows), factor, interval)


_Of = Callable[..., LineChance]
_Change = Callable[[Stage, float], Stage]


def _causes(one: Compared, curve: Curve, was: Scenario, of: _Of) -> Iterator[Cause]:
    """Yield what would explain a count, each by itself."""
    past, expected = one.past, one.expected
    factor, interval = fitted_factor([past], [curve])
    if math.isfinite(factor):
        yield Cause("kick energy", factor, interval)
    if expected.tips_per_million > 0.0 and past.tipped:
        low, high = one.counted_interval
        times = past.tips_per_million / expected.tips_per_million
        if 1.0 / MOST_TIMES <= times <= MOST_TIMES:
            rates = (low / expected.interval[1], high / expected.interval[0])
            yield Cause("kick rate", times, rates)
    for name, side in SIDES.items():
        if side != was.mat.pack_enters and _explains(part_of(of(was, past, side), past), past):
            yield Cause("pack enters", name)
    for what, change, tried, base in (
        ("clear width", _wider, WIDER_MM, 0.0),
        ("fill", _emptier, EMPTIER, min(stage.fill for stage in was.stages)),
    ):
        at = _met(past, expected, tried, partial(_expected, was, past, of, change))
        if at is not None:
            yield Cause(what, base + at)


def _explains(expected: Rate, past: PastCount) -> bool:
    low, high = room_of(expected, past.cans)
    return low <= past.tips_per_million <= high


def _expected(
    was: Scenario, past: PastCount, of: _Of, change: _Change, by: float, accuracy: float = ACCURACY
) -> Rate:
    """Return what is expected with the stages of a count changed by so much."""
    stages = (change(s, by) if past.stage in ("", s.name) else s for s in was.stages)
    return part_of(of(was.with_stages(tuple(stages)), past, None, accuracy), past)


def _met(
    past: PastCount, now: Rate, tried: Sequence[float], expect: Callable[..., Rate]
) -> float | None:
    """Return where a passage leaves room for a count; nowhere is told where none was run."""
    points = [(by, expect(by, ROUGHLY).tips_per_million) for by in tried]
    points.append((0.0, now.tips_per_million))
    for _ in range(CLOSER):
        at = _crossing(points, past.tips_per_million)
        if at is None:
            break
        found = expect(at)
        if _explains(found, past):
            return at
        points.append((at, found.tips_per_million))
    return None


def _wider(stage: Stage, by_mm: float) -> Stage:
    half = by_mm / 2.0
    wider = tuple(
        Bracket(b.station_mm, b.left_mm - half, b.right_mm + half) for b in stage.guides.brackets
    )
    return replace(stage, guides=replace(stage.guides, brackets=wider), settings=())


def _emptier(stage: Stage, by: float) -> Stage:
    return replace(stage, fill=max(0.05, stage.fill + by))


def _crossing(points: Sequence[tuple[float, float]], rate: float) -> float | None:
    """Where a rate is met, its logarithm straight between the points; the smallest change."""
    found = sorted((x, math.log(max(y, 1e-12))) for x, y in points if math.isfinite(y))
    goal, crossings = math.log(max(rate, 1e-12)), []
    for (x0, y0), (x1, y1) in pairwise(found):
        if y0 != y1 and min(y0, y1) <= goal <= max(y0, y1):
            crossings.append(x0 + (goal - y0) / (y1 - y0) * (x1 - x0))
    return min(crossings, key=abs, default=None)
