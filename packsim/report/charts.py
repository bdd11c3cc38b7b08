"""Charts in one house style: lines, ranges as bars, and histograms.

Readable in grey print and with colour-vision deficiency: every line has its own dash and marker and
its name at its end. matplotlib is loaded when the first chart is drawn, and no global state of it
is touched.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.check import positive
from packsim.errors import InputError
from packsim.report import palette
from packsim.report.chart_data import SERIES_STYLES, Band, Bar, Mark, Series
from packsim.report.chart_files import chart_png, chart_svg
from packsim.report.chart_frame import frame, house_style, label_ends, label_top

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "SERIES_STYLES",
    "Band",
    "Bar",
    "Mark",
    "Series",
    "bar_chart",
    "chart_png",
    "chart_svg",
    "histogram_chart",
    "line_chart",
]


def line_chart(
    series: Sequence[Series],
    x_label: str,
    y_label: str,
    *,
    title: str = "",
    bands: Sequence[Band] = (),
    marks: Sequence[Mark] = (),
    y_limits: tuple[float, float] | None = None,
    x_limits: tuple[float, float] | None = None,
    log_y: bool = False,
    width_mm: float = 165.0,
    height_mm: float = 85.0,
) -> Figure:
    """Draw lines against one axis.

    Parameters
    ----------
    series : sequence of Series
        At least one; colours, dashes and markers go by their order.
    x_label, y_label : str
        Axis names with units.
    title : str
        Title; a page may prefer its own caption.
    bands, marks : sequences of Band, Mark
        Ranges and values of x to point out, named above the axes.
    y_limits, x_limits : tuple of float, optional
        Ends of the axes.
    log_y : bool
        Whether y is logarithmic; values of 0 and below are then left out.
    width_mm, height_mm : float
        Size of the sheet [mm].

    Returns
    -------
    matplotlib.figure.Figure
        For `chart_svg` or `chart_png`.

    Raises
    ------
    InputError
        If there is no series, or a size is not above 0.
    """
    if not series:
        raise InputError("series", "none", "at least one series")
    with house_style():
        figure, axes = frame(
            positive("width_mm", width_mm),
            positive("height_mm", height_mm),
            title=title,
            x_label=x_label,
            y_label=y_label,
            left_texts=("0.000",),
            right_texts=[line.name for line in series if line.name],
            top_rows=_rows(bands, marks),
        )
        if log_y:
            axes.set_yscale("log", nonpositive="mask")
        axes.margins(x=0.02, y=0.08)
        colours = [_draw(axes, line, i) for i, line in enumerate(series)]
        if x_limits is not None:
            axes.set_xlim(*x_limits)
        if y_limits is not None:
            axes.set_ylim(*y_limits)
        _point_out(axes, bands, marks)
        found = [_end(axes, line, c) for line, c in zip(series, colours, strict=True)]
        label_ends(axes, [end for end in found if end is not None])
    return figure


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
    rows = _rows(bands, marks)
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
        _point_out(axes, bands, marks)
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


def histogram_chart(
    edges: ArrayLike,
    counts: ArrayLike,
    x_label: str,
    y_label: str,
    *,
    title: str = "",
    bands: Sequence[Band] = (),
    marks: Sequence[Mark] = (),
    width_mm: float = 165.0,
    height_mm: float = 85.0,
) -> Figure:
    """Draw a histogram already counted.

    Parameters
    ----------
    edges : array_like, shape (n + 1,)
        Edges of the bins, rising.
    counts : array_like, shape (n,)
        Count or share of each bin.
    x_label, y_label, title, bands, marks, width_mm, height_mm
        As for `line_chart`.

    Returns
    -------
    matplotlib.figure.Figure
        For `chart_svg` or `chart_png`.

    Raises
    ------
    InputError
        If the edges do not rise or the counts are not one fewer.
    """
    at, tall = np.asarray(edges, dtype=np.float64), np.asarray(counts, dtype=np.float64)
    if at.ndim != 1 or tall.shape != (len(at) - 1,) or not np.all(np.diff(at) > 0.0):
        raise InputError("edges", np.shape(edges), "rising edges, one more than counts")
    with house_style():
        figure, axes = frame(
            positive("width_mm", width_mm),
            positive("height_mm", height_mm),
            title=title,
            x_label=x_label,
            y_label=y_label,
            left_texts=("000000",),
            right_texts=(),
            top_rows=_rows(bands, marks),
        )
        fill, edge = palette.LINES[1], palette.PAPER
        axes.bar(at[:-1], tall, np.diff(at), align="edge", color=fill, edgecolor=edge)
        axes.margins(x=0.02)
        _point_out(axes, bands, marks)
    return figure


def _rows(bands: Sequence[Band], marks: Sequence[Mark]) -> int:
    names = [band.name for band in bands] + [mark.name for mark in marks]
    return min(len([name for name in names if name]), 3)


def _draw(axes: Axes, line: Series, index: int) -> str:
    """Draw one series and return its colour."""
    turn = index % len(palette.LINES)
    colour, dash, marker = palette.LINES[turn], palette.DASHES[turn], palette.MARKERS[turn]
    x, y = _finite(line.x), _finite(line.y)
    if line.low is not None and line.high is not None:
        axes.fill_between(x, _finite(line.low), _finite(line.high), color=colour, alpha=0.15, lw=0)
    look: dict[str, Any] = {"color": colour, "linewidth": 1.5, "markersize": 4.5}
    if line.style in ("marked", "points"):
        every = max(1, len(x) // 12) if line.style == "marked" else 1
        look |= {"marker": marker, "markevery": every, "markeredgecolor": palette.PAPER}
    if line.style == "steps":
        look["drawstyle"] = "steps-post"
    linestyle: Any = (0, dash) if dash else "-"
    axes.plot(x, y, linestyle="none" if line.style == "points" else linestyle, **look)
    return colour


def _end(axes: Axes, line: Series, colour: str) -> tuple[str, float, float, str] | None:
    """Return where the name of a line goes: its last point in sight."""
    x, y = _finite(line.x), _finite(line.y)
    (left, right), (low, high) = sorted(axes.get_xlim()), sorted(axes.get_ylim())
    seen = np.flatnonzero((x >= left) & (x <= right) & (y >= low) & (y <= high))
    if not line.name or not len(seen):
        return None
    return line.name, float(x[seen[-1]]), float(y[seen[-1]]), colour


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


def _point_out(axes: Axes, bands: Sequence[Band], marks: Sequence[Mark]) -> None:
    labels = []
    for band in bands:
        axes.axvspan(band.low, band.high, color=palette.WASH, zorder=0.5, linewidth=0)
        for end in (band.low, band.high):
            axes.axvline(end, color=palette.QUIET, linewidth=0.6, zorder=0.6)
        if band.name:
            labels.append(((band.low + band.high) / 2.0, band.name, palette.INK))
    for mark in marks:
        axes.axvline(mark.x, color=palette.ACCENT, linewidth=1.0, linestyle=(0, (4, 2)))
        if mark.name:
            labels.append((mark.x, mark.name, palette.ACCENT))
    inside = [label for label in labels if _between(label[0], axes.get_xlim())]
    label_top(axes, inside, _rows(bands, marks))


def _between(x: float, limits: tuple[float, float]) -> bool:
    return min(limits) <= x <= max(limits) and math.isfinite(x)


def _finite(values: ArrayLike) -> NDArray[np.float64]:
    """Put a gap where a value is not finite, so that axes stay drawable."""
    numbers = np.asarray(values, dtype=np.float64)
    return np.where(np.isfinite(numbers), numbers, np.nan)
