"""Charts of bars: ranges under each other, and histograms."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from packsim.check import positive
from packsim.errors import InputError
from packsim.report import palette
from packsim.report.charts.chart_data import Band, Bar, Mark
from packsim.report.charts.chart_frame import frame, house_style
from packsim.report.charts.chart_marks import point_out, rows_needed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["bar_chart"]


def bar_chart(
    bars: Sequence[Bar],
    x_label: str,
    *,
    title: str = "",
    bands: Sequence[Band] = (),
    marks: Sequence[Mark] = (),
    width_mm: float = 165.0,
    row_mm: float = 6.5,
) -> Figure:
    """Draw level bars under each other, each from its low to its high value.

    Parameters
    ----------
    bars : sequence of Bar
        From top to bottom; at least one. Parts below 0 are hatched, ``strong`` bars darker.
    x_label : str
        Axis name with unit.
    title, bands, marks
        As for `line_chart`.
    width_mm, row_mm : float
        Width of the sheet, and height of one bar with its gap [mm].

    Returns
    -------
    matplotlib.figure.Figure
        For `chart_svg` or `chart_png`.

    Raises
    ------
    InputError
        If there is no bar, or a size is not above 0.
    """
    if not bars:
        raise InputError("bars", "none", "at least one bar")
    rows = rows_needed(bands, marks)
    height_mm = 16.0 + 4.3 * rows + (6.5 if title else 0.0) + len(bars) * positive("row_mm", row_mm)
    with house_style():
        figure, axes = frame(
            positive("width_mm", width_mm),
            height_mm,
            title=title,
            x_label=x_label,
            y_label="",
            left_texts=[bar.name for bar in bars],
            right_texts=[bar.text for bar in bars],
            top_rows=rows,
        )
        axes.grid(visible=False, axis="y")
        axes.grid(visible=True, axis="x", color=palette.GRID, linewidth=0.5)
        for level, bar in enumerate(bars):
            _level_bar(axes, level, bar)
        axes.set_ylim(len(bars) - 0.4, -0.6)
        axes.set_yticks(range(len(bars)), [bar.name for bar in bars], parse_math=False)
        axes.tick_params(axis="y", length=0.0, labelcolor=palette.INK)
        axes.use_sticky_edges = False
        axes.margins(x=0.06)
        axes.axvline(0.0, color=palette.INK, linewidth=0.8)
        point_out(axes, bands, marks)
        for level, bar in enumerate(bars):
            axes.annotate(
                bar.text,
                (1.0, level),
                (10.0, 0.0),
                xycoords=axes.get_yaxis_transform(),
                textcoords="offset points",
                va="center",
                color=palette.QUIET,
                annotation_clip=False,
                parse_math=False,
                weight="bold" if bar.strong else "normal",
            )
    return figure


def _level_bar(axes: Axes, level: int, bar: Bar) -> None:
    fill = palette.INK if bar.strong else palette.LINES[1]
    if bar.low == bar.high:
        axes.plot([bar.low], [level], marker="D", markersize=5.0, color=fill, linestyle="none")
    below, above = (bar.low, min(bar.high, 0.0)), (max(bar.low, 0.0), bar.high)
    if below[1] > below[0]:
        axes.barh(
            level,
            below[1] - below[0],
            0.6,
            below[0],
            color=palette.PAPER,
            edgecolor=fill,
            hatch="////",
        )
    if above[1] > above[0]:
        axes.barh(level, above[1] - above[0], 0.6, above[0], color=fill, edgecolor=fill)
