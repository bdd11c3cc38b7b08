"""The frame every chart stands in: sheet, axes, type, and labels that keep out of each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from packsim.constants import MM_PER_INCH
from packsim.report import palette

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["TEXT_PT", "frame", "house_style", "label_ends", "label_top", "spread_apart"]

TEXT_PT: Final = 8.5
"""Size of all text in a chart but the title [pt]."""

TITLE_PT: Final = 10.5
PT_PER_MM: Final = 72.0 / 25.4
LINE_STEP_PT: Final = 12.0
EDGE_PT: Final = 8.0


@contextmanager
def house_style() -> Iterator[None]:
    """Draw and save with our own settings whatever the user's matplotlib settings say."""
    import matplotlib as mpl

    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(
            {
                "font.family": "DejaVu Sans",
                "font.size": TEXT_PT,
                "svg.fonttype": "none",
                "svg.hashsalt": "packsim",
                "hatch.linewidth": 0.6,
                "axes.unicode_minus": True,
            }
        )
        yield


def frame(
    width_mm: float,
    height_mm: float,
    *,
    title: str,
    x_label: str,
    y_label: str,
    left_texts: Sequence[str],
    right_texts: Sequence[str],
    top_rows: int,
) -> tuple[Figure, Axes]:
    """Return a figure with one pair of axes whose margins hold the texts around it.

    Parameters
    ----------
    width_mm, height_mm : float
        Size of the sheet [mm].
    title, x_label, y_label : str
        Title and axis names; the y name stands level above the axis.
    left_texts, right_texts : sequence of str
        Texts that must fit left and right of the axes.
    top_rows : int
        Rows of labels above the axes.

    Returns
    -------
    Figure, Axes
        Bare axes in house style.
    """
    from matplotlib.figure import Figure

    figure = Figure(
        figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH), facecolor=palette.PAPER
    )
    wide, high = width_mm * PT_PER_MM, height_mm * PT_PER_MM
    left = EDGE_PT + 8.0 + max((text_width(text) for text in left_texts), default=0.0)
    right = EDGE_PT + max((16.0 + text_width(text) for text in right_texts), default=6.0)
    rows = top_rows + (1 if y_label else 0)
    top = EDGE_PT + (TITLE_PT + 8.0 if title else 0.0) + rows * LINE_STEP_PT + 3.0
    bottom = EDGE_PT + 16.0 + (LINE_STEP_PT + 2.0 if x_label else 0.0)
    axes = figure.add_axes(
        (left / wide, bottom / high, (wide - left - right) / wide, (high - top - bottom) / high)
    )
    plain: dict[str, Any] = {"parse_math": False}
    if title:
        figure.text(
            EDGE_PT / wide,
            1.0 - EDGE_PT / high,
            title,
            size=TITLE_PT,
            weight="bold",
            color=palette.INK,
            va="top",
            **plain,
        )
    if y_label:
        up = (high - top + 4.0 + top_rows * LINE_STEP_PT) / high
        figure.text(EDGE_PT / wide, up, y_label, color=palette.QUIET, va="bottom", **plain)
    if x_label:
        middle = (left + wide - right) / 2.0 / wide
        figure.text(
            middle, EDGE_PT / high, x_label, color=palette.QUIET, ha="center", va="bottom", **plain
        )
    _plain_axes(axes)
    return figure, axes


def _plain_axes(axes: Axes) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(palette.QUIET)
        axes.spines[side].set_linewidth(0.7)
    axes.tick_params(colors=palette.QUIET, width=0.7, length=3.0, labelsize=TEXT_PT)
    axes.grid(visible=True, axis="y", color=palette.GRID, linewidth=0.5)
    axes.set_axisbelow(True)


def text_width(text: str, size_pt: float = TEXT_PT) -> float:
    """Width of a text in the chart's own font [pt]; a viewer's font is rarely wider."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=size_pt)
    widths = [
        text_to_path.get_text_width_height_descent(line, font, ismath=False)[0]
        for line in text.split("\n")
    ]
    return float(max(widths))


def spread_apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Move places along a line as little as needed until none is nearer than ``gap``.

    Parameters
    ----------
    wanted : sequence of float
        Places in any order.
    gap : float
        Least distance between two.
    low, high : float
        Ends of the line; places stay between them if there is room for all.

    Returns
    -------
    list of float
        New places in the order given.

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
            arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.5, "shrinkB": 1.0},
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
