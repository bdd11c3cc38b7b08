"""Charts of what many passages counted: intervals, tips by stage and place, and the line's length.

One job each: `run_chart` compares settings, `run_places_chart` says where cans go, and
`run_slack_chart` and `run_void_chart` show how the pack stands along the line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.passage.record import PLACES, Profile
from packsim.report import palette
from packsim.report.charts.chart_data import Bar, Series, Sheet
from packsim.report.charts.chart_frame import (
    EDGE_PT,
    house_style,
    level_frame,
    say_instead,
    text_width,
)
from packsim.report.charts.charts import bar_chart, line_chart
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million
from packsim.report.words.run_case import RunCase

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LOOKS = ((palette.INK, ""), (palette.PALE, "////"), (palette.ACCENT, ""))
"""Fill and hatch of the left edge, the centre and the right edge."""

_ROW_MM = 6.5


def run_chart(cases: Sequence[RunCase]) -> Figure:
    """Draw the interval of each place and of the whole for every setting, and what was expected.

    Level bars from the low to the high end of each exact 95 % interval, a lozenge at the rate
    counted; a setting without a can counted is named and has no bar.
    """
    bars = []
    for case in cases:
        counted = case.passages.counted
        if not counted:
            bars.append(Bar(f"{case.name}: no can went through", 0.0, 0.0, "–"))
            continue
        by_place = case.passages.tips.sum(axis=0)
        rows = [(f"{case.name}: all", int(by_place.sum()), True)]
        rows += [(place, int(n), False) for place, n in zip(PLACES, by_place, strict=True)]
        for name, tips, strong in rows:
            low, high = case.passages.interval_per_million(tips)
            point, text = 1e6 * tips / counted, f"{tips} of {counted:,}"
            bars.append(Bar(name, low, high, text, strong=strong, point=point))
        if case.agreement and case.chance is not None:
            rate, (low, high) = case.chance.tips_per_million, case.chance.tips_per_million_interval
            expected = f"{per_million(rate * counted / 1e6)} of {counted:,}"
            bars.append(Bar("expected", low, high, expected, strong=True, point=rate))
    words = "tips per million; lozenge: counted or expected, bar: 95 % interval"
    return bar_chart(bars, _sheet(cases, "How many cans tip?", words))


def run_places_chart(cases: Sequence[RunCase]) -> Figure:
    """Draw how many cans tipped in each stage, parted by place across the mat.

    Stacked level bars, a block for each setting that was run: left edge dark, centre hatched, right
    edge rust, the sum at the end.
    """
    from matplotlib.ticker import MaxNLocator

    rows: list[tuple[str, NDArray[np.int64] | None]] = []
    for case in cases:
        if case.passages.runs:
            rows.append((case.name, None))
            tips = case.passages.tips
            rows += [(stage, tips[i]) for i, stage in enumerate(case.passages.stages)]
    sheet = _sheet(cases, "Where do cans tip?", "cans tipped")
    with house_style():
        figure, axes = level_frame(sheet, [(name, " " * 8) for name, _ in rows], _ROW_MM, 1)
        if not rows:
            say_instead(axes, "no run was finished")
        for level, (_, parts) in enumerate(rows):
            if parts is not None:
                _stacked(axes, level, parts)
        for label, (_, parts) in zip(axes.get_yticklabels(), rows, strict=True):
            label.set_fontweight("bold" if parts is None else "normal")
        most = max((int(parts.sum()) for _, parts in rows if parts is not None), default=0)
        axes.set_xlim(0.0, max(1.0, 1.06 * most))
        axes.xaxis.set_major_locator(MaxNLocator("auto", integer=True))
        _key(axes)
    return figure


def _stacked(axes: Axes, level: int, parts: NDArray[np.int64]) -> None:
    start = 0
    for count, (fill, hatch) in zip(parts.tolist(), _LOOKS, strict=True):
        axes.barh(
            level, count, 0.6, start, color=fill, hatch=hatch, edgecolor=palette.INK, linewidth=0.6
        )
        start += count
    axes.annotate(
        f"{start:,}", (start, level), (5.0, 0.0), textcoords="offset points", va="center",
        color=palette.INK if start else palette.QUIET, annotation_clip=False,
    )  # fmt: skip


def _key(axes: Axes) -> None:
    """Name the three fills above the axes."""
    at = 0.0
    for place, (fill, hatch) in zip(PLACES, _LOOKS, strict=True):
        for text, move in (("   ", 0.0), (place, 20.0)):
            box = {"facecolor": fill, "hatch": hatch, "edgecolor": palette.INK, "linewidth": 0.6}
            axes.annotate(
                text, (0.0, 1.0), (at + move, 5.0), xycoords="axes fraction",
                textcoords="offset points", va="bottom", color=palette.QUIET,
                bbox={"boxstyle": "square,pad=0.15", **box} if text.isspace() else None,
                annotation_clip=False,
            )  # fmt: skip
        at += 20.0 + text_width(place) + 2.0 * EDGE_PT


def run_slack_chart(cases: Sequence[RunCase], display: Display) -> Figure:
    """Draw the slack along the line for every setting, the mean of all runs."""
    words, scale = f"slack across the mat [{display.length_unit}]", display.length_value(1.0)
    title = "How much slack is there along the line?"
    return _along(cases, title, words, lambda profile: scale * profile.slack_mm)


def run_void_chart(cases: Sequence[RunCase]) -> Figure:
    """Draw the share of the mat between the guides that no can covers, the mean of all runs."""
    words, title = "open area between the guides [%]", "How much of the mat is open along the line?"
    return _along(cases, title, words, lambda profile: 100.0 * profile.void_fraction)


def _along(
    cases: Sequence[RunCase], title: str, y_label: str, values: Callable[[Profile], Floats]
) -> Figure:
    runs = [(case.name, case.passages.profile) for case in cases]
    series = [Series(n, p.station_mm / 1000.0, values(p)) for n, p in runs if p is not None]
    return line_chart(series, _sheet(cases, title, "place along the line [m]", y_label))


def _sheet(cases: Sequence[RunCase], title: str, x_label: str, y_label: str = "") -> Sheet:
    about = f"{cases[0].scenario.name}: {cases[0].passages.size}, every stage"
    return Sheet(title, about, x_label, y_label)
