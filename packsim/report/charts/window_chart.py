"""Guide windows under each other: what may be set, what is set now, what to set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from packsim.check import finite, positive
from packsim.errors import InputError
from packsim.report import palette
from packsim.report.charts.chart_frame import frame, house_style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["WindowRow", "window_chart"]

BAR_HIGH = 0.56


@dataclass(frozen=True, slots=True)
class WindowRow:
    """One row of the chart.

    Parameters
    ----------
    name : str
        What the row stands for.
    low, high : float
        Ends of the window; crossed when it is empty.
    now : float
        What is set.
    target : float or None
        What to set, None where there is none.
    text : str
        Written at the right.
    """

    name: str
    low: float
    high: float
    now: float
    target: float | None
    text: str = ""

    def __post_init__(self) -> None:
        for key in ("low", "high", "now"):
            finite(key, getattr(self, key))

    @property
    def empty(self) -> bool:
        """Whether no value is inside."""
        return self.low > self.high


def window_chart(
    rows: Sequence[WindowRow], x_label: str, *, width_mm: float = 180.0, row_mm: float = 6.5
) -> Figure:
    """Draw one window per row, with a lozenge for what is set and a triangle for what to set.

    Parameters
    ----------
    rows : sequence of WindowRow
        From top to bottom; at least one. An empty window is hatched from its high to its low end,
        the gap that has to go.
    x_label : str
        Axis name with unit.
    width_mm, row_mm : float
        Width of the sheet, and height of one row [mm].

    Returns
    -------
    matplotlib.figure.Figure
        For `chart_svg` or `chart_png`.

    Raises
    ------
    InputError
        If there is no row, or a size is not above 0.
    """
    if not rows:
        raise InputError("rows", "none", "at least one row")
    height_mm = 19.0 + len(rows) * positive("row_mm", row_mm)
    with house_style():
        figure, axes = frame(
            positive("width_mm", width_mm),
            height_mm,
            title="",
            x_label=x_label,
            y_label="",
            left_texts=[row.name for row in rows],
            right_texts=[row.text for row in rows],
            top_rows=0,
        )
        axes.grid(visible=False, axis="y")
        axes.grid(visible=True, axis="x", color=palette.GRID, linewidth=0.5)
        for level, row in enumerate(rows):
            _row(axes, level, row)
        axes.use_sticky_edges = False
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.set_yticks(range(len(rows)), [row.name for row in rows], parse_math=False)
        axes.tick_params(axis="y", length=0.0, labelcolor=palette.INK)
        axes.margins(x=0.06)
        axes.ticklabel_format(axis="x", useOffset=False, style="plain")
    return figure


def _row(axes: Axes, level: int, row: WindowRow) -> None:
    if row.empty:
        axes.barh(
            level,
            row.low - row.high,
            BAR_HIGH,
            row.high,
            color=palette.PAPER,
            edgecolor=palette.ACCENT,
            hatch="xxxx",
            linewidth=0.8,
        )
    else:
        axes.barh(
            level,
            row.high - row.low,
            BAR_HIGH,
            row.low,
            color="#b5d3c6",
            edgecolor=palette.INK,
            linewidth=0.8,
        )
    look: dict[str, Any] = {"linestyle": "none", "markeredgecolor": palette.PAPER, "zorder": 3}
    if row.target is not None:
        axes.plot(
            [row.target], [level + 0.34], marker="^", markersize=7.5, color=palette.INK, **look
        )
    axes.plot([row.now], [level], marker="D", markersize=6.0, color=palette.ACCENT, **look)
    axes.annotate(
        row.text,
        (1.0, level),
        (10.0, 0.0),
        xycoords=axes.get_yaxis_transform(),
        textcoords="offset points",
        va="center",
        color=palette.QUIET,
        annotation_clip=False,
        parse_math=False,
    )
