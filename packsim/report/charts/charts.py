"""Charts in one house style: lines, and ranges as bars.

Readable in grey print and with colour-vision deficiency: every line has its own dash and marker and
its name at its end. matplotlib is loaded when the first chart is drawn, and no global state of it
is touched.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.check import positive
from packsim.errors import InputError
from packsim.report import palette
from packsim.report.charts.bar_charts import bar_chart
from packsim.report.charts.chart_data import SERIES_STYLES, Band, Bar, Mark, Series
from packsim.report.charts.chart_files import chart_png, chart_svg
from packsim.report.charts.chart_frame import frame, house_style, label_ends
from packsim.report.charts.chart_marks import point_out, rows_needed

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
            left_texts=("10,000" if log_y else "0.000",),
            right_texts=[line.name for line in series if line.name],
            top_rows=rows_needed(bands, marks),
        )
        if log_y:
            axes.set_yscale("log", nonpositive="mask")
            # plain numbers: few people on a floor read 10 to the 2
            axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.10g}")
        axes.margins(x=0.02, y=0.08)
        colours = [_draw(axes, line, i) for i, line in enumerate(series)]
        if x_limits is not None:
            axes.set_xlim(*x_limits)
        if y_limits is not None:
            axes.set_ylim(*y_limits)
        point_out(axes, bands, marks)
        found = [_end(axes, line, c) for line, c in zip(series, colours, strict=True)]
        label_ends(axes, [end for end in found if end is not None])
    return figure


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


def _finite(values: ArrayLike) -> NDArray[np.float64]:
    """Put a gap where a value is not finite, so that axes stay drawable."""
    numbers = np.asarray(values, dtype=np.float64)
    return np.where(np.isfinite(numbers), numbers, np.nan)
