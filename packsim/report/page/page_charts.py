"""The charts of the study page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from packsim.answers import Answer
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.nozzles.pitch import pitch_curve
from packsim.report.charts.bar_charts import bar_chart
from packsim.report.charts.chart_data import Band, Bar, Mark, Series
from packsim.report.charts.chart_files import chart_svg
from packsim.report.charts.charts import line_chart
from packsim.report.charts.window_chart import WindowRow, window_chart
from packsim.report.words.display import Display
from packsim.study import Study
from packsim.sweep import sweep
from packsim.width.lane_choice import lane_pitch_mm

__all__ = ["SWEEP_STEPS", "budget_svg", "pitch_svg", "sweep_svg", "windows_svg"]

SWEEP_STEPS = 41
"""Widths of a sweep: a step of about a millimetre over a lane pitch."""

WIDTH_MM = 180.0
MOST_INDEX = 2.0
"""A tip index above this is drawn off the chart: 1 already tips."""


def budget_svg(answer: Answer, factor: float, display: Display) -> str:
    """Draw the slack budget: every term from its tightest to its loosest, then the sum."""
    budget, value = answer.budget, display.length_value

    def bar(name: str, low: float, high: float, *, strong: bool = False) -> Bar:
        shown = [display.bare(mm, signed=True) for mm in (low, high)]
        text = shown[0] if shown[0] == shown[1] else f"{shown[0]} to {shown[1]}"
        return Bar(name, value(low), value(high), text, strong)

    bars = [bar("slack as set", budget.slack_mm, budget.slack_mm)]
    bars += [bar(term.name, term.tightest_mm, term.loosest_mm) for term in budget.terms]
    bars.append(bar("root-sum-square", budget.tightest_rss_mm, budget.loosest_rss_mm, strong=True))
    bars.append(bar("worst case", budget.tightest_mm, budget.loosest_mm, strong=True))
    safe = answer.tipping.safe.slack_mm
    marks = [Mark(value(safe / factor), f"safe slack / {factor:g}")]
    label = f"{display.length_unit} of slack: hatched tighter, solid looser"
    return chart_svg(bar_chart(bars, label, marks=marks, width_mm=WIDTH_MM, row_mm=5.2))


def windows_svg(answers: Sequence[Answer], display: Display) -> str:
    """Draw the guide window of every stage for one size."""
    rows = []
    for answer in answers:
        window = answer.window
        rows.append(
            WindowRow(
                answer.stage,
                display.length_value(window.low_mm),
                display.length_value(window.high_mm),
                display.length_value(answer.pack.clear_width_mm),
                None if window.target_mm is None else display.length_value(window.target_mm),
                display.window(window),
            )
        )
    return chart_svg(
        window_chart(rows, f"clear width, {display.length_unit}", width_mm=WIDTH_MM, row_mm=5.6)
    )


def sweep_svg(
    study: Study,
    answer: Answer,
    display: Display,
    progress: Callable[[int, int], None] | None = None,
) -> str:
    """Answer one stage over a range of clear widths and draw the tip index of the loosest case."""
    window, now = answer.window, answer.pack.clear_width_mm
    pitch = lane_pitch_mm(answer.pack.diameter_mm, answer.pack.layout)
    pack = answer.lanes_meant.pack_width_mm
    ends = (pack, now, window.low_mm, window.high_mm)
    low = max(min(ends) - 0.15 * pitch, answer.pack.diameter_mm)
    high = max(*ends, pack + 0.45 * pitch) + 0.15 * pitch
    widths = [float(w) for w in np.linspace(low, high, SWEEP_STEPS)]
    found = sweep(study.scenario, "clear-width", widths, answer.stage, answer.size, progress)
    x = [display.length_value(row.value) for row in found.rows]
    loosest = [row.answer.tipping.loosest for row in found.rows]
    series = [
        Series("at the guide", x, [case.edge for case in loosest]),
        Series("inside the pack", x, [case.centre for case in loosest]),
        Series("balance point", [x[0], x[-1]], [1.0, 1.0]),
    ]
    bands = []
    if not window.empty:
        ends_shown = display.length_value(window.low_mm), display.length_value(window.high_mm)
        bands = [Band(*ends_shown, "guide window")]
    marks = [Mark(display.length_value(now), "set now")]
    finite = [v for case in loosest for v in (case.edge, case.centre) if math.isfinite(v)]
    top = min(MOST_INDEX, max([1.25, *(1.05 * v for v in finite)]))
    figure = line_chart(
        series,
        f"clear width, {display.length_unit}",
        "tip index, loosest case of the budget",
        bands=bands,
        marks=marks,
        y_limits=(0.0, top),
        width_mm=WIDTH_MM,
        height_mm=62.0,
    )
    return chart_svg(figure)


def pitch_svg(study: Study, display: Display) -> str | None:
    """Draw the worst misalignment of every size against the nozzle pitch; None without nozzles."""
    sprayed = {stage.name: stage for stage in study.scenario.stages if stage.headers}
    lines: dict[str, list[float]] = {}
    for answer in study.answers:
        if answer.stage in sprayed and answer.pack.fits and answer.size not in lines:
            lines[answer.size] = [float(x) for x in lane_lines_mm(answer.pack)]
    if not lines:
        return None
    now = next(iter(sprayed.values())).headers[0].pitch_mm
    pitches = np.linspace(0.75 * now, 1.25 * now, 301)
    worst = pitch_curve(list(lines.values()), pitches)
    x = [display.length_value(float(p)) for p in pitches]
    unit = display.length_unit
    series = [
        Series(size, x, [display.length_value(float(v)) for v in worst[:, k]])
        for k, size in enumerate(lines)
    ]
    figure = line_chart(
        series,
        f"nozzle pitch, {unit}",
        f"worst lane off its nozzle after the best shift, {unit}",
        marks=[Mark(display.length_value(now), "pitch now")],
        y_limits=(0.0, float(np.max(worst)) * 1.08 / (1.0 if unit == "mm" else 25.4)),
        width_mm=WIDTH_MM,
        height_mm=64.0,
    )
    return chart_svg(figure)
