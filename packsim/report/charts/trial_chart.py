"""Spoilage against clear width: what was counted, what the fit expects, what is to be decided."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from packsim.report.charts.chart_data import Mark, Range, Series, Sheet
from packsim.report.charts.charts import line_chart
from packsim.report.words.display import Display
from packsim.trial.foretell import predict_fitted
from packsim.trial.groups import TrialFit
from packsim.trial.plan import stage_rooms
from packsim.trial.trial import Trial

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_POINTS: Final = 41
_MARGIN_MM: Final = 2.0
_DECADES: Final = 50.0
"""Ratio of greatest to least rate from which on the axis is logarithmic."""


def fit_chart(
    fit: TrialFit,
    size: str,
    display: Display,
    marks_mm: Mapping[str, Sequence[float]] | None = None,
) -> Figure:
    """Draw tips per million against the clear width of the stage where most cans tip.

    The curve moves every stage alike from where it is set; points are trials with their exact
    intervals, at that stage's clear width. ``marks_mm`` are settings to point out by name, a clear
    width for each stage [mm]; as set if there are none.
    """
    trials = [trial for trial in fit.trials if trial.size == size]
    index = _stage_shown(fit, size, trials)
    as_set = np.array([stage.guides.narrowest_mm for stage in fit.scenario.stages])
    room = stage_rooms(fit.scenario, size)[index]
    marks = [(row[index], name) for name, row in (marks_mm or {"as set": as_set.tolist()}).items()]
    name = fit.scenario.stages[index].name
    seen = [trial.width_mm(name) for trial in trials] + [width for width, _ in marks]
    low = max(min([*seen, room.low_mm]) - _MARGIN_MM, fit.scenario.size(size).diameter_mm)
    x = np.linspace(low, max(seen) + _MARGIN_MM, _POINTS)
    found = predict_fitted(fit, size, x[:, None] + (as_set - as_set[index])[None, :])
    best = np.array([one.per_million for one in found])
    floor = _floor(best, trials)
    low, high = (
        np.maximum(np.array(ends), floor * 1e-3)
        for ends in zip(*((one.low, one.high) for one in found), strict=True)
    )
    shown = [display.length_value(v) for v in x]
    series = [Series("expected", shown, np.maximum(best, 0.0), low, high)]
    counts = [count for count in fit.counts if count.trial in trials]
    ends = [count.tips_per_million_interval for count in counts]
    if counts:
        at = [display.length_value(count.trial.width_mm(name)) for count in counts]
        rates = [count.tips_per_million for count in counts]
        lows, highs = zip(*ends, strict=True)
        series.append(Series("", at, rates, lows, highs, style="counted"))
    top = max([*best, *(high for _, high in ends)])
    log_y = top > _DECADES * floor
    return line_chart(
        series,
        Sheet(
            "How do tips change with the clear width?",
            f"{fit.scenario.name}: {size}, {name}",
            f"clear width at {name} [{display.length_unit}], every stage moved alike",
            _y_label(fit, empty=room.low_mm > room.high_mm),
        ),
        ranges=_bands(room.low_mm, room.high_mm, display),
        marks=[
            Mark(display.length_value(width), text)
            for width, text in [*marks, *_safe(room.last_safe_mm, x)]
        ],
        log_y=log_y,
        y_limits=(floor / 3.0 if log_y else 0.0, 1.5 * top),
    )


def _y_label(fit: TrialFit, *, empty: bool) -> str:
    words = f"tips per million; squares: counted, exact {100 * fit.confidence:g} % interval"
    words += "; triangle: fewer"
    return f"{words}; the guide window is empty" if empty else words


def _stage_shown(fit: TrialFit, size: str, trials: Sequence[Trial]) -> int:
    widths = [[count.clear_width_mm for count in trial.stages] for trial in trials]
    if not widths:
        return 0
    return int(np.argmax(fit.predict(size, widths).by_stage.sum(axis=0)))


def _floor(best: NDArray[np.float64], trials: Sequence[Trial]) -> float:
    """Least rate worth showing: below a tenth of a can in the largest trial nobody can check."""
    largest = max((trial.cans for trial in trials), default=1_000_000)
    return max(1e5 / largest, float(best.max(initial=0.0)) * 1e-5)


def _bands(low_mm: float, high_mm: float, display: Display) -> list[Range]:
    if low_mm > high_mm:
        return []
    return [Range(display.length_value(low_mm), display.length_value(high_mm), "guide window")]


def _safe(last_safe_mm: float, x: NDArray[np.float64]) -> list[tuple[float, str]]:
    inside = x[0] <= last_safe_mm <= x[-1]
    return [(last_safe_mm, "safe slack, loosest case")] if inside else []
