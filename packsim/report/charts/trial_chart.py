"""Spoilage against clear width: what was counted, what the fit expects, what is to be decided."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from packsim.report.charts.chart_data import Mark, Series, Sheet, window_range
from packsim.report.charts.charts import line_chart
from packsim.report.words.display import Display
from packsim.trial.foretell import FittedPrediction, predict_fitted
from packsim.trial.groups import TrialFit
from packsim.trial.plan import stage_rooms
from packsim.trial.trial import Trial

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DECADES: Final = 50.0
"""Ratio of greatest to least rate from which on the axis is logarithmic."""


def fit_chart(
    fit: TrialFit,
    predictions: Sequence[FittedPrediction],
    size: str,
    display: Display,
    marks_mm: Mapping[str, Sequence[float]] | None = None,
) -> Figure:
    """Draw tips per million against the clear width of the stage where most cans tip.

    The line joins the settings predicted and tried, each a passage of its own; points are trials
    with their exact intervals, at that stage's clear width. ``marks_mm`` are settings to point out
    by name, a clear width for each stage [mm]; as set if there are none.
    """
    trials = [trial for trial in fit.trials if trial.size == size]
    index = _stage_shown(fit, size, trials)
    as_set = [stage.guides.narrowest_mm for stage in fit.scenario.stages]
    room = stage_rooms(fit.scenario, size)[index]
    marks = [(row[index], name) for name, row in (marks_mm or {"as set": as_set}).items()]
    name = fit.scenario.stages[index].name
    tried = [] if fit.contradicted else [predict_fitted(fit, size, t.widths_mm) for t in trials]
    found = sorted([*predictions, *tried], key=lambda one: one.widths_mm[index])
    x = [one.widths_mm[index] for one in found]
    best = np.array([one.tips_per_million for one in found])
    floor = _floor(best, trials)
    spans = np.array([one.tips_per_million_interval for one in found]).reshape(-1, 2)
    low, high = np.maximum(spans, floor * 1e-3).T
    shown = [display.length_value(v) for v in x]
    series = [Series("expected", shown, best, low, high)] if found else []
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
            f"clear width at {name} [{display.length_unit}]",
            _y_label(fit, empty=room.window.empty),
        ),
        ranges=window_range(room.window, display),
        marks=[
            Mark(display.length_value(width), text)
            for width, text in [
                *marks,
                *_safe(room.last_safe_mm, [*x, *(trial.width_mm(name) for trial in trials)]),
            ]
        ],
        log_y=log_y,
        y_limits=(floor / 3.0 if log_y else 0.0, 1.5 * top),
    )


def _y_label(fit: TrialFit, *, empty: bool) -> str:
    words = f"tips per million; squares: counted, exact {100 * fit.confidence:g} % interval"
    words += "; triangle: fewer"
    return f"{words}; the guide window is empty" if empty else words


def _stage_shown(fit: TrialFit, size: str, trials: Sequence[Trial]) -> int:
    tips = np.zeros(len(fit.scenario.stages))
    for trial in trials:
        found = fit.chances.at(size, trial.widths_mm).at(fit.kicks_mJ())
        tips += [stage.tips_per_million for stage in found.stages]
    return int(np.argmax(tips))


def _floor(best: NDArray[np.float64], trials: Sequence[Trial]) -> float:
    """Least rate worth showing: below a tenth of a can in the largest trial nobody can check."""
    largest = max((trial.cans for trial in trials), default=1_000_000)
    return max(1e5 / largest, float(best.max(initial=0.0)) * 1e-5)


def _safe(last_safe_mm: float, x: Sequence[float]) -> list[tuple[float, str]]:
    inside = min(x) <= last_safe_mm <= max(x)
    return [(last_safe_mm, "safe slack, loosest case")] if inside else []
