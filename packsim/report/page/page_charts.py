"""The charts of the study page: one list; a chart more is a function and a line in it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from packsim.answers import Answer
from packsim.answers.answer_settings import answer_settings
from packsim.pack.lattice import lane_pitch_mm
from packsim.report.charts.chart_data import Bar, Mark, Series, Sheet, WindowRow, window_range
from packsim.report.charts.chart_frame import chart_svg
from packsim.report.charts.charts import bar_chart, line_chart, window_chart
from packsim.report.words.display import Display
from packsim.setting import recommend
from packsim.study import Study

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SWEEP_STEPS = 41
"""Widths of a sweep: a step of about a millimetre over a lane pitch."""

WIDTH_MM: Final = 180.0
MOST_INDEX: Final = 2.0
"""A tip index above this is drawn off the chart: 1 already tips."""


class PageChart(NamedTuple):
    """One chart of the page: how to draw it, and how to read it.

    It is drawn for the stage with the least room, among the numbers of a size or under "what if".
    """

    draw: Callable[[Study, Answer, Display], Figure]
    caption: str
    part: str = "numbers"


def page_charts(study: Study, answer: Answer, display: Display, part: str) -> list[tuple[str, str]]:
    """Return the charts of one part of the page and one size, as pairs of SVG and caption."""
    return [
        (chart_svg(chart.draw(study, answer, display), f"{answer.size} {place}"), chart.caption)
        for place, chart in enumerate(PAGE_CHARTS)
        if chart.part == part
    ]


def _sheet(study: Study, title: str, about: str, x_label: str, y_label: str = "") -> Sheet:
    return Sheet(
        title=title,
        about=f"{study.scenario.name}: {about}",
        x_label=x_label,
        y_label=y_label,
        width_mm=WIDTH_MM,
        height_mm=72.0,
    )


def _budget(study: Study, answer: Answer, display: Display) -> Figure:
    """Draw every term of the slack budget from its tightest to its loosest, then the sums."""
    budget, value, factor = answer.budget, display.length_value, study.scenario.factor

    def bar(name: str, low: float, high: float, *, strong: bool = False) -> Bar:
        shown = [display.bare(mm, signed=True) for mm in (low, high)]
        text = shown[0] if shown[0] == shown[1] else " to ".join(shown)
        return Bar(name, value(low), value(high), text, strong)

    bars = [bar("slack as set", budget.slack_mm, budget.slack_mm)]
    bars += [bar(term.name, term.tightest_mm, term.loosest_mm) for term in budget.terms]
    bars.append(bar("root-sum-square", budget.tightest_rss_mm, budget.loosest_rss_mm, strong=True))
    bars.append(bar("worst case", budget.tightest_mm, budget.loosest_mm, strong=True))
    safe = answer.tipping.safe.slack_mm
    marks = [Mark(value(safe / factor), f"safe slack / {factor:g}")]
    label = f"slack, {display.length_unit}: hatched tighter, solid looser"
    about = f"{answer.size}, {answer.stage}"
    sheet = _sheet(study, "What makes the slack smaller or larger?", about, label)
    return bar_chart(bars, sheet, marks=marks, row_mm=5.2)


def _windows(study: Study, answer: Answer, display: Display) -> Figure:
    """Draw the guide window of every stage for one size."""
    value = display.length_value
    setting = recommend(study.scenario, answer.size)
    rows = [
        WindowRow(
            name=one.stage,
            low=value(part.window.low_mm),
            high=value(part.window.high_mm),
            now=value(one.pack.clear_width_mm),
            target=value(part.clear_width_mm),
            text=display.window(part.window),
        )
        for one in study.of_size(answer.size)
        for part in (setting.of_stage(one.stage),)
    ]
    about = f"{answer.size}, {setting.lanes} lanes, every stage"
    label = f"clear width, {display.length_unit}"
    return window_chart(
        rows, _sheet(study, "Which clear widths are safe?", about, label), row_mm=5.6
    )


def _other_widths(study: Study, answer: Answer, display: Display) -> Figure:
    """Answer one stage over a range of clear widths and draw the tip index of the loosest case."""
    window, now = answer.window, answer.pack.clear_width_mm
    pitch = lane_pitch_mm(answer.pack.diameter_mm, answer.pack.layout)
    pack = answer.budget.pack_width_mm
    ends = (pack, now, window.low_mm, window.high_mm)
    low = max(min(ends) - 0.15 * pitch, answer.pack.diameter_mm)
    high = max(*ends, pack + 0.45 * pitch) + 0.15 * pitch
    widths = np.linspace(low, high, SWEEP_STEPS)
    found = answer_settings(study.scenario, answer.stage, answer.size, {"clear-width": widths})
    x = [display.length_value(width) for width in widths.tolist()]
    series = [
        Series("at the guide", x, found.index_edge.tolist()),
        Series("inside the pack", x, found.index_centre.tolist()),
        Series("balance point", [x[0], x[-1]], [1.0, 1.0]),
    ]
    marks = [Mark(display.length_value(now), "set now")]
    index = np.stack((found.index_edge, found.index_centre))
    top = max(1.25, 1.05 * float(index.max(initial=0.0, where=np.isfinite(index))))
    sheet = _sheet(
        study,
        "Can a can tip at another clear width?",
        f"{answer.size}, {answer.stage}",
        f"clear width, {display.length_unit}",
        "tip index, loosest case of the slack budget; triangle: above, or nothing stops the can",
    )
    return line_chart(
        series,
        sheet,
        ranges=window_range(window, display),
        marks=marks,
        y_limits=(0.0, min(MOST_INDEX, max(1.25, top))),
    )


PAGE_CHARTS: Final = (
    PageChart(
        _budget,
        "What makes the slack smaller or larger than the tape measure says. Lozenge: a fixed "
        "amount.",
    ),
    PageChart(
        _windows,
        "Bar: clear widths that are neither too tight nor too loose; crosshatched: no safe "
        "setting, the bar shows by how much it is missed. Lozenge: set now. Triangle: set to.",
    ),
    PageChart(
        _other_widths,
        "All slack in one gap, recalculated at every width with as many lanes as fit. Above 1 a "
        "can tips.",
        part="what if",
    ),
)
"""Every chart of the page, in order."""
