"""Charts in one house style: lines against an axis, level bars, guide windows.

Readable in grey print and with colour-vision deficiency: every line has its own dash and marker and
its name at its end. matplotlib is loaded when the first chart is drawn, and no global state of it
is touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.errors import InputError
from packsim.report import palette
from packsim.report.charts.chart_data import Bar, Mark, Range, Series, Sheet, WindowRow, short_name
from packsim.report.charts.chart_frame import (
    frame,
    house_style,
    level_frame,
    plain_numbers,
    say_instead,
)
from packsim.report.charts.chart_labels import label_ends, point_out, rows_needed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def line_chart(
    series: Sequence[Series],
    sheet: Sheet,
    *,
    ranges: Sequence[Range] = (),
    marks: Sequence[Mark] = (),
    y_limits: tuple[float, float] | None = None,
    log_y: bool = False,
) -> Figure:
    """Draw lines against one axis; colours, dashes and markers go by their order.

    Ranges and marks are named above the axes. What lies beyond ``y_limits`` is shown by a triangle
    at the end it lies beyond: above for an infinite value, below for a nought on a logarithmic
    axis. A chart without any value says so.
    """
    with house_style():
        figure, axes = frame(
            sheet,
            left=("100,000" if log_y else "0.000",),
            right=[short_name(line.name) for line in series if line.name],
            top_rows=rows_needed(ranges, marks),
        )
        if y_limits is not None:
            axes.set_ylim(*y_limits)
        if log_y:
            axes.set_yscale("log", nonpositive="mask")
        plain_numbers(axes.yaxis)
        axes.margins(x=0.02, y=0.08)
        colours = [_draw(axes, line, i) for i, line in enumerate(series)]
        if y_limits is not None:
            for line, colour in zip(series, colours, strict=True):
                _beyond(axes, line, colour, y_limits)
        point_out(axes, ranges, marks)
        found = [_end(axes, line, c) for line, c in zip(series, colours, strict=True)]
        label_ends(axes, [end for end in found if end is not None])
        if not any(np.any(~np.isnan(np.asarray(line.y, dtype=np.float64))) for line in series):
            say_instead(axes, "no value to draw")
    return figure


def _draw(axes: Axes, line: Series, index: int) -> str:
    """Draw one series and return its colour."""
    turn = index % len(palette.LINES)
    colour, dash, marker = palette.LINES[turn], palette.DASHES[turn], palette.MARKERS[turn]
    x, y = _finite(line.x), _finite(line.y)
    if line.style == "counted":
        bottom = np.maximum(_finite(y if line.low is None else line.low), axes.get_ylim()[0])
        top = _finite(y if line.high is None else line.high)
        axes.vlines(x, bottom, top, color=palette.INK, linewidth=1.2, zorder=4)
        axes.plot(x, y, "s", color=palette.INK, markersize=5.0, zorder=5)
        return palette.INK
    if line.low is not None and line.high is not None:
        axes.fill_between(x, _finite(line.low), _finite(line.high), color=colour, alpha=0.15, lw=0)
    look: dict[str, Any] = {"color": colour, "linewidth": 1.5, "markersize": 4.5}
    if line.style == "marked":
        every = max(1, len(x) // 12)
        look |= {"marker": marker, "markevery": every, "markeredgecolor": palette.PAPER}
    linestyle: Any = (0, dash) if dash else "-"
    axes.plot(x, y, linestyle=linestyle, **look)
    return colour


def _beyond(axes: Axes, line: Series, colour: str, limits: tuple[float, float]) -> None:
    """Mark values that lie beyond the ends of the axis."""
    x, y = np.asarray(line.x, dtype=np.float64), np.asarray(line.y, dtype=np.float64)
    for beyond, end, marker in ((y < limits[0], limits[0], "v"), (y > limits[1], limits[1], "^")):
        at = x[beyond][:: max(1, int(beyond.sum()) // 8)]
        look: dict[str, Any] = {"markersize": 5.0, "color": colour, "clip_on": False}
        axes.plot(at, np.full(len(at), end), marker, markerfacecolor=palette.PAPER, **look)


def _end(axes: Axes, line: Series, colour: str) -> tuple[str, float, float, str] | None:
    """Return where the name of a line goes: its last point in sight, else its end."""
    x, y = _finite(line.x), _finite(line.y)
    low, high = sorted(axes.get_ylim())
    seen = np.flatnonzero((y >= low) & (y <= high))
    if not line.name:
        return None
    if len(seen):
        return short_name(line.name), float(x[seen[-1]]), float(y[seen[-1]]), colour
    known = np.asarray(line.y, dtype=np.float64)
    known = known[~np.isnan(known)]
    if not len(known):
        return None
    return short_name(line.name), float(x[-1]), low if known[-1] < low else high, colour


def _finite(values: ArrayLike) -> NDArray[np.float64]:
    """Put a gap where a value is not finite, so that axes stay drawable."""
    numbers = np.asarray(values, dtype=np.float64)
    return np.where(np.isfinite(numbers), numbers, np.nan)


def bar_chart(
    bars: Sequence[Bar], sheet: Sheet, *, marks: Sequence[Mark] = (), row_mm: float = 6.5
) -> Figure:
    """Draw level bars from top to bottom, each from its low to its high value.

    Parts below 0 are hatched, ``strong`` bars darker. Raises `InputError` if there is no bar.
    """
    if not bars:
        raise InputError("bars", "none", "at least one bar")
    top = rows_needed((), marks)
    with house_style():
        figure, axes = level_frame(sheet, [(bar.name, bar.text) for bar in bars], row_mm, top)
        for level, bar in enumerate(bars):
            _level_bar(axes, level, bar)
        axes.axvline(0.0, color=palette.INK, linewidth=0.8)
        point_out(axes, (), marks)
    return figure


def _level_bar(axes: Axes, level: int, bar: Bar) -> None:
    fill = palette.INK if bar.strong else palette.LINES[1]
    below, above = (bar.low, min(bar.high, 0.0)), (max(bar.low, 0.0), bar.high)
    for (start, end), hatch in ((below, "////"), (above, "")):
        if end > start:
            face = palette.PAPER if hatch else fill
            axes.barh(level, end - start, 0.6, start, color=face, edgecolor=fill, hatch=hatch)
    point = bar.low if bar.low == bar.high else bar.point
    if point is not None:
        look: dict[str, Any] = {"color": fill, "markeredgecolor": palette.PAPER}
        axes.plot([point], [level], marker="D", markersize=5.5, linestyle="none", **look)


def window_chart(rows: Sequence[WindowRow], sheet: Sheet, *, row_mm: float = 6.5) -> Figure:
    """Draw one window per row, with a lozenge for what is set and a triangle for what to set.

    An empty window is hatched from its high to its low end, the gap that has to go. Raises
    `InputError` if there is no row.
    """
    if not rows:
        raise InputError("rows", "none", "at least one row")
    with house_style():
        figure, axes = level_frame(sheet, [(row.name, row.text) for row in rows], row_mm)
        for level, row in enumerate(rows):
            _window(axes, level, row)
    return figure


def _window(axes: Axes, level: int, row: WindowRow) -> None:
    low, high = sorted((row.low, row.high))
    look: dict[str, Any] = {"color": palette.GOOD, "edgecolor": palette.INK}
    if row.empty:
        look = {"color": palette.PAPER, "edgecolor": palette.ACCENT, "hatch": "xxxx"}
    axes.barh(level, high - low, 0.56, low, linewidth=0.8, **look)
    point: dict[str, Any] = {"linestyle": "none", "markeredgecolor": palette.PAPER, "zorder": 3}
    if row.target is not None:
        at = ([row.target], [level + 0.34])
        axes.plot(*at, marker="^", markersize=7.5, color=palette.INK, **point)
    axes.plot([row.now], [level], marker="D", markersize=6.0, color=palette.ACCENT, **point)
