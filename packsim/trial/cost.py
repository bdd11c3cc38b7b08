"""What tipped cans cost in a year before and after an adjustment, from the user's own figures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.answers import answer_stage
from packsim.chance import LineChance
from packsim.errors import InputError, non_negative, positive
from packsim.line import Scenario
from packsim.trial.chances import Progress, assumed_duties, chance_at, with_kicks

_STEPS: Final = 25
"""Points between the least and the greatest kick energy the trials allow."""


@dataclass(frozen=True, slots=True)
class EnergyRange:
    """A fitted kick energy as a file has it, with its interval where it is there, and its trial."""

    best_mJ: float
    low_mJ: float | None
    high_mJ: float | None
    trial: str

    def __post_init__(self) -> None:
        positive("best_mJ", self.best_mJ)
        low = self.best_mJ if self.low_mJ is None else non_negative("low_mJ", self.low_mJ)
        if low > self.best_mJ:
            raise InputError("low_mJ", self.low_mJ, f"at most the energy, {self.best_mJ:g} mJ")
        if self.high_mJ is not None and self.high_mJ < self.best_mJ:
            raise InputError("high_mJ", self.high_mJ, f"at least the energy, {self.best_mJ:g} mJ")


@dataclass(frozen=True, slots=True)
class Spoilage:
    """A number with its interval.

    Parameters
    ----------
    best : float
        The number.
    low, high : float
        Ends of its interval.
    """

    best: float
    low: float
    high: float

    def times(self, factor: float) -> Spoilage:
        """Return the same in another unit; a factor below 0 is not meant."""
        return Spoilage(self.best * factor, self.low * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class SpoilageChange:
    """Spoilage before and after.

    Parameters
    ----------
    size : str
        Name of the can size.
    before_mm, after_mm : tuple of float
        Clear width of every stage [mm].
    cans_per_year : float
        Throughput × running hours.
    before, after, saved : Spoilage
        Tips per million, and the difference.
    cost_per_can, adjustment_cost : float or None
        The user's own figures; None where not given.
    assumed_duties : tuple of str
        Duties that add to it with a kick energy no trial has fitted.
    ranges : bool
        Whether every fitted energy came with its interval.
    """

    size: str
    before_mm: tuple[float, ...]
    after_mm: tuple[float, ...]
    cans_per_year: float
    before: Spoilage
    after: Spoilage
    saved: Spoilage
    cost_per_can: float | None
    adjustment_cost: float | None
    assumed_duties: tuple[str, ...]
    ranges: bool

    @property
    def tips_per_million(self) -> dict[str, Spoilage]:
        """Cans tipped in a million: ``before``, ``after``, ``saved``."""
        return {"before": self.before, "after": self.after, "saved": self.saved}

    @property
    def cans_tipped_per_year(self) -> dict[str, Spoilage]:
        """The same in cans a year."""
        each = self.cans_per_year / 1e6
        return {name: rate.times(each) for name, rate in self.tips_per_million.items()}

    @property
    def cost_per_year(self) -> dict[str, Spoilage | None]:
        """The same in the user's currency a year; None without a cost per can."""
        each, cans = self.cost_per_can, self.cans_tipped_per_year.items()
        return {name: None if each is None else tipped.times(each) for name, tipped in cans}

    @property
    def break_even_cans(self) -> Spoilage | None:
        """Cans passed until the saving has paid for the adjustment; None without both costs.

        Infinite where nothing is saved. Its low end belongs to the high end of the saving.
        """
        if self.cost_per_can is None or self.adjustment_cost is None:
            return None

        def cans(per_million: float) -> float:
            saved = per_million * 1e-6 * (self.cost_per_can or 0.0)
            return (self.adjustment_cost or 0.0) / saved if saved > 0.0 else np.inf

        return Spoilage(cans(self.saved.best), cans(self.saved.high), cans(self.saved.low))


def spoilage_change(
    before: Scenario,
    after: Scenario,
    size: str,
    hours_per_year: float,
    energies: Mapping[str, EnergyRange],
    *,
    cost_per_can: float | None = None,
    adjustment_cost: float | None = None,
    progress: Progress | None = None,
) -> SpoilageChange:
    """Compare the spoilage of two settings.

    Parameters
    ----------
    before, after : Scenario
        The line as set before and after; its throughput before counts for both.
    size : str
        Name of the can size.
    hours_per_year : float
        Running hours of this size [h].
    energies : mapping of EnergyRange
        Fitted kick energies by duty; the scenario's own for the others, which are then named.
    cost_per_can, adjustment_cost : float, optional
        The user's own figures, in any one currency.
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    SpoilageChange
        The intervals take every fitted energy from its least to its greatest value together, each
        with the interval of the passage: wider than a joint one. Without fitted energies they are
        those of the passages.

    Raises
    ------
    InputError
        If the size does not go through at one of the settings, or a figure is absurd.

    Notes
    -----
    The saving is worked out at each energy, so its interval is that of the difference, not the
    difference of two intervals.
    """
    hours = positive("hours_per_year", hours_per_year)
    if hours > 8784.0:
        raise InputError("hours_per_year", hours_per_year, "at most the 8784 hours a year has")
    for key, cost in (("cost_per_can", cost_per_can), ("adjustment_cost", adjustment_cost)):
        if cost is not None:
            non_negative(key, cost)
    kicks = _kicks(before, {duty: one.best_mJ for duty, one in energies.items()})
    widths = [tuple(s.guides.narrowest_mm for s in line.stages) for line in (before, after)]
    chances = [
        chance_at(with_kicks(line, kicks), size, at, progress)
        for line, at in zip((before, after), widths, strict=True)
    ]
    at_ends = [_saved([c.at(end) for c in chances]) for end in _range(before, energies)]
    rates = [
        Spoilage(each[0].best, min(one.low for one in each), max(one.high for one in each))
        for each in zip(_saved(chances), *at_ends, strict=True)
    ]
    first = answer_stage(before, before.stages[0].name, size)
    return SpoilageChange(
        size=size,
        before_mm=widths[0],
        after_mm=widths[1],
        cans_per_year=first.flow.cans_per_min * 60.0 * hours,
        before=rates[0],
        after=rates[1],
        saved=rates[2],
        cost_per_can=cost_per_can,
        adjustment_cost=adjustment_cost,
        assumed_duties=assumed_duties(before, chances, energies),
        ranges=all(None not in (e.low_mJ, e.high_mJ) for e in energies.values()),
    )


def _kicks(scenario: Scenario, energies: Mapping[str, float]) -> dict[str, float]:
    return {s.name: energies[s.duty] for s in scenario.stages if s.duty in energies}


def _range(scenario: Scenario, energies: Mapping[str, EnergyRange]) -> list[dict[str, float]]:
    """Kick energies from the least to the greatest the trials allow, all together."""
    ends = {
        duty: tuple(e.best_mJ if end is None else end for end in (e.low_mJ, e.high_mJ))
        for duty, e in energies.items()
    }
    shares = np.linspace(0.0, 1.0, _STEPS if ends else 0).tolist()
    return [_kicks(scenario, {d: a + s * (b - a) for d, (a, b) in ends.items()}) for s in shares]


def _saved(found: Sequence[LineChance]) -> tuple[Spoilage, Spoilage, Spoilage]:
    """Return the rates before and after, and their difference with its own interval.

    The ends of a difference lie √(Σ distances²) from it, the distances those of the ends of its two
    parts [zou2008]_.
    """
    before, after = (
        Spoilage(one.tips_per_million, *one.tips_per_million_interval) for one in found
    )
    saved = before.best - after.best
    low = saved - math.hypot(before.best - before.low, after.high - after.best)
    high = saved + math.hypot(before.high - before.best, after.best - after.low)
    return before, after, Spoilage(saved, low, high)
