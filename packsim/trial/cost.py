"""What tipped cans cost in a year before and after an adjustment, from the user's own figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.answers import answer_stage
from packsim.answers.misfit import check_fits
from packsim.arrays import Floats
from packsim.errors import InputError, non_negative, positive
from packsim.line import Scenario
from packsim.trial.predict import NEGLIGIBLE, Prediction, all_widths_mm, predict
from packsim.trial.stage_case import LineCases

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
    low, high : float or None
        Ends of its interval; None where no trial gives one.
    """

    best: float
    low: float | None
    high: float | None

    def times(self, factor: float) -> Spoilage:
        """Return the same in another unit; a factor below 0 is not meant."""
        low, high = (None if end is None else end * factor for end in (self.low, self.high))
        return Spoilage(self.best * factor, low, high)


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
    assumed : tuple of str
        Duties that add to it with a kick energy no trial has fitted.
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
    assumed: tuple[str, ...]

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

        best = cans(self.saved.best)
        if self.saved.low is None or self.saved.high is None:
            return Spoilage(best, None, None)
        return Spoilage(best, cans(self.saved.high), cans(self.saved.low))


def spoilage_change(
    scenario: Scenario,
    size: str,
    before_mm: Sequence[float],
    after_mm: Sequence[float],
    hours_per_year: float,
    energies: Mapping[str, EnergyRange],
    *,
    cost_per_can: float | None = None,
    adjustment_cost: float | None = None,
    line_after: Scenario | None = None,
) -> SpoilageChange:
    """Compare the spoilage of two settings.

    Parameters
    ----------
    scenario : Scenario
        The line; its throughput at the setting before counts for both.
    size : str
        Name of the can size.
    before_mm, after_mm : sequence of float
        Clear width of every stage [mm].
    hours_per_year : float
        Running hours of this size [h].
    energies : mapping of EnergyRange
        Fitted kick energies by duty; the scenario's own for the others, which are then named.
    cost_per_can, adjustment_cost : float, optional
        The user's own figures, in any one currency.
    line_after : Scenario, optional
        The line after, where its wires or middles differ too; the same line when omitted.

    Returns
    -------
    SpoilageChange
        The intervals take every fitted energy from its least to its greatest value together,
        which is wider than a joint interval where there are several duties.

    Raises
    ------
    InputError
        If the size does not go through at one of the settings, or a figure is absurd.

    Notes
    -----
    The saving is worked out at each energy, so its interval is that of the difference, not the
    difference of two intervals.
    """
    rows = all_widths_mm(scenario, [before_mm, after_mm])
    hours = positive("hours_per_year", hours_per_year)
    if hours > 8784.0:
        raise InputError("hours_per_year", hours_per_year, "at most the 8784 hours a year has")
    for key, cost in (("cost_per_can", cost_per_can), ("adjustment_cost", adjustment_cost)):
        if cost is not None:
            non_negative(key, cost)
    for widths in rows:
        check_fits(scenario, size, widths, "guides")
    lines = tuple(LineCases(line, size) for line in (scenario, line_after or scenario))
    best = _predict(lines, rows, {d: e.best_mJ for d, e in energies.items()})
    rates = _with_saving(best.per_million)
    ranges = _over_the_range(lines, rows, energies)
    before, after, saved = (
        Spoilage(rate, None, None) if ranges is None else _with_range(rate, ranges[:, k])
        for k, rate in enumerate(rates.tolist())
    )
    return SpoilageChange(
        size=size,
        before_mm=tuple(float(w) for w in rows[0]),
        after_mm=tuple(float(w) for w in rows[1]),
        cans_per_year=_cans_per_min(scenario, size, rows[0]) * 60.0 * hours,
        before=before,
        after=after,
        saved=saved,
        cost_per_can=cost_per_can,
        adjustment_cost=adjustment_cost,
        assumed=_assumed(scenario, energies, best),
    )


def _predict(lines: Sequence[LineCases], rows: Floats, energies: Mapping[str, float]) -> Prediction:
    """Predict each setting on its own line."""
    pairs = zip(lines, rows, strict=True)
    each = [predict(one.scenario, one.size, [row], energies, line=one) for one, row in pairs]
    names = ("widths_mm", "per_million", "by_stage", "by_place")
    return Prediction(*(np.concatenate([getattr(one, name) for one in each]) for name in names))


def _cans_per_min(scenario: Scenario, size: str, widths: Floats) -> float:
    first = scenario.stages[0].with_clear_width(float(widths[0]))
    line = scenario.with_stages((first, *scenario.stages[1:]))
    return answer_stage(line, line.stages[0].name, size).flow.cans_per_min


def _assumed(
    scenario: Scenario, energies: Mapping[str, EnergyRange], found: Prediction
) -> tuple[str, ...]:
    """Return duties that add tips at either setting without a fitted energy."""
    adds = np.logical_or.reduce(found.by_stage > NEGLIGIBLE * found.per_million[:, None])
    duties = [stage.duty for stage, adding in zip(scenario.stages, adds, strict=True) if adding]
    return tuple(dict.fromkeys(duty for duty in duties if duty not in energies))


def _over_the_range(
    lines: Sequence[LineCases], rows: Floats, energies: Mapping[str, EnergyRange]
) -> Floats | None:
    """Rates and saving from least to greatest energies, shape (25, 3); None without ranges."""
    ends = [(e.low_mJ, e.high_mJ) for e in energies.values()]
    if not ends or any(end is None for pair in ends for end in pair):
        return None
    low, high = np.array(ends, dtype=np.float64).T
    values = low + np.linspace(0.0, 1.0, _STEPS)[:, None] * (high - low)
    each = [dict(zip(energies, row, strict=True)) for row in values.tolist()]
    return np.stack([_with_saving(_predict(lines, rows, at).per_million) for at in each])


def _with_saving(per_million: Floats) -> Floats:
    return np.append(per_million, per_million[0] - per_million[1])


def _with_range(best: float, values: Floats) -> Spoilage:
    return Spoilage(best, float(min(best, values.min())), float(max(best, values.max())))
