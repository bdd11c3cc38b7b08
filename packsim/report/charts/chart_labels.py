"""Names of lines, ranges and marks in a chart, kept out of each other's way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from packsim.report import palette
from packsim.report.charts.chart_data import Mark, Range
from packsim.report.charts.chart_frame import LINE_STEP_PT, text_width

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def rows_needed(ranges: Sequence[Range], marks: Sequence[Mark]) -> int:
    """Return how many rows of names ranges and marks may need above the axes."""
    names = [one.name for one in ranges] + [one.name for one in marks]
    return min(sum(map(bool, names)), 3)


def point_out(axes: Axes, ranges: Sequence[Range], marks: Sequence[Mark]) -> None:
    """Shade ranges, draw marks, and name both above the axes."""
    labels = []
    for one in ranges:
        axes.axvspan(one.low, one.high, color=palette.WASH, zorder=0.5, linewidth=0)
        for end in (one.low, one.high):
            axes.axvline(end, color=palette.QUIET, linewidth=0.6, zorder=0.6)
        labels.append(((one.low + one.high) / 2.0, one.name, palette.INK))
    for mark in marks:
        axes.axvline(mark.x, color=palette.ACCENT, linewidth=1.0, linestyle=(0, (4, 2)))
        labels.append((mark.x, mark.name, palette.ACCENT))
    low, high = sorted(axes.get_xlim())
    inside = [label for label in labels if label[1] and low <= label[0] <= high]
    label_top(axes, inside, rows_needed(ranges, marks))


def spread_apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Move places along a line as little as needed until none is nearer than ``gap``.

    They keep their order and stay between ``low`` and ``high`` if there is room for all.

    Examples
    --------
    >>> spread_apart([5.0, 5.0, 0.0], 2.0, 0.0, 6.0)
    [4.0, 6.0, 0.0]
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    places = [0.0] * len(wanted)
    below = low - gap
    for i in order:
        below = max(wanted[i], below + gap)
        places[i] = below
    above = high + gap
    for i in reversed(order):
        above = min(places[i], above - gap)
        places[i] = above
    return places


def label_ends(axes: Axes, ends: Sequence[tuple[str, float, float, str]]) -> None:
    """Name lines at the right edge of the axes; ends are (name, x, y, colour) in data units."""
    if not ends:
        return
    wide_pt, high_pt = _size_pt(axes)
    to_axes = axes.transData + axes.transAxes.inverted()
    level = [float(to_axes.transform((x, y))[1]) for _, x, y, _ in ends]
    gap = LINE_STEP_PT / high_pt
    # leaders start left of the names: from their middles they would run through their neighbours
    leader = {"arrowstyle": "-", "linewidth": 0.5, "shrinkB": 1.0, "relpos": (0.0, 0.5)}
    for (name, x, y, colour), up in zip(ends, spread_apart(level, gap, 0.0, 1.0), strict=True):
        axes.annotate(
            name,
            xy=(x, y),
            xycoords="data",
            xytext=(1.0 + 12.0 / wide_pt, up),
            textcoords="axes fraction",
            va="center",
            ha="left",
            color=colour,
            annotation_clip=False,
            parse_math=False,
            arrowprops=leader | {"color": colour},
        )


def label_top(axes: Axes, labels: Sequence[tuple[float, str, str]], rows: int) -> None:
    """Write labels (x, text, colour) above the axes in as few rows as keep them apart."""
    wide_pt, high_pt = _size_pt(axes)
    to_axes = axes.transData + axes.transAxes.inverted()
    taken = [-1e9] * max(rows, 1)
    for x, text, colour in sorted(labels):
        half = text_width(text) / 2.0
        at = float(to_axes.transform((x, axes.get_ylim()[1]))[0]) * wide_pt
        at = min(max(at, half), max(wide_pt - half, half))
        row = next((i for i, end in enumerate(taken) if at - half > end + 6.0), len(taken) - 1)
        taken[row] = at + half
        up = 1.0 + (3.0 + row * LINE_STEP_PT) / high_pt
        axes.text(
            at / wide_pt,
            up,
            text,
            transform=axes.transAxes,
            ha="center",
            va="bottom",
            color=colour,
            parse_math=False,
        )


def _size_pt(axes: Axes) -> tuple[float, float]:
    """Width and height of the axes [pt]."""
    figure = axes.get_figure(root=True)
    if figure is None:
        return 72.0, 72.0
    box, (wide, high) = axes.get_position(), figure.get_size_inches()
    return float(box.width * wide * 72.0), float(box.height * high * 72.0)
