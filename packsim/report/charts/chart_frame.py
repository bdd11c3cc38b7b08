"""The frame every chart stands in: sheet, axes, type, and labels that keep out of each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from packsim.check import positive
from packsim.constants import MM_PER_INCH
from packsim.report import palette
from packsim.report.charts.chart_data import Mark, Range, Sheet

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TEXT_PT: Final = 8.5
"""Size of all text in a chart but the title [pt]."""

TITLE_PT: Final = 10.5
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
                "font.family": "sans-serif",
                "font.size": TEXT_PT,
                "svg.fonttype": "none",
                "svg.hashsalt": "packsim",
                "hatch.linewidth": 0.6,
                "axes.unicode_minus": True,
            }
        )
        yield


def frame(
    sheet: Sheet, *, left: Sequence[str] = (), right: Sequence[str] = (), top_rows: int = 0
) -> tuple[Figure, Axes]:
    """Return a figure with one pair of axes whose margins hold the texts around it.

    Parameters
    ----------
    sheet : Sheet
        Size, title and axis names.
    left, right : sequence of str
        Texts that must fit left and right of the axes.
    top_rows : int
        Rows of labels above the axes.
    """
    from matplotlib.figure import Figure

    size = (sheet.width_mm / MM_PER_INCH, sheet.height_mm / MM_PER_INCH)
    figure = Figure(figsize=size, facecolor=palette.PAPER)
    wide, high = (72.0 * side for side in size)
    west = EDGE_PT + 8.0 + max((text_width(text) for text in left), default=0.0)
    east = EDGE_PT + max((16.0 + text_width(text) for text in right), default=6.0)
    rows = top_rows + (1 if sheet.y_label else 0)
    top = EDGE_PT + sheet.head_pt + rows * LINE_STEP_PT + 3.0
    bottom = EDGE_PT + 16.0 + (LINE_STEP_PT + 2.0 if sheet.x_label else 0.0)
    axes = figure.add_axes(
        (west / wide, bottom / high, (wide - west - east) / wide, (high - top - bottom) / high)
    )

    def write(x_pt: float, y_pt: float, text: str, **look: Any) -> None:
        usual: dict[str, Any] = {"color": palette.QUIET, "va": "bottom", "parse_math": False}
        figure.text(x_pt / wide, y_pt / high, text, **(usual | look))

    if sheet.title:
        look: dict[str, Any] = {"size": TITLE_PT, "weight": "bold", "color": palette.INK}
        write(EDGE_PT, high - EDGE_PT, sheet.title, va="top", **look)
    if sheet.about:
        write(EDGE_PT, high - EDGE_PT - (16.0 if sheet.title else 0.0), sheet.about, va="top")
    if sheet.y_label:
        write(EDGE_PT, high - top + 4.0 + top_rows * LINE_STEP_PT, sheet.y_label)
    if sheet.x_label:
        write((west + wide - east) / 2.0, EDGE_PT, sheet.x_label, ha="center")
    _plain_axes(axes)
    return figure, axes


def level_frame(
    sheet: Sheet, rows: Sequence[tuple[str, str]], row_mm: float, top_rows: int = 0
) -> tuple[Figure, Axes]:
    """Return a figure for level bars: a name left of each row, a text right of it.

    Parameters
    ----------
    sheet : Sheet
        Its height is set by the rows.
    rows : sequence of (name, text)
        From top to bottom; row k is at y = k.
    row_mm : float
        Height of one row with its gap [mm].
    top_rows : int
        Rows of labels above the axes.
    """
    head_mm = 15.0 + 4.3 * top_rows + sheet.head_pt * MM_PER_INCH / 72.0
    sheet = replace(sheet, height_mm=head_mm + len(rows) * positive("row_mm", row_mm))
    names, texts = [name for name, _ in rows], [text for _, text in rows]
    # bold names are wider
    figure, axes = frame(
        sheet, left=[f"{name}  " for name in names], right=texts, top_rows=top_rows
    )
    axes.grid(visible=False, axis="y")
    axes.grid(visible=True, axis="x", color=palette.GRID, linewidth=0.5)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks(range(len(rows)), names, parse_math=False)
    axes.tick_params(axis="y", length=0.0, labelcolor=palette.INK)
    axes.xaxis.set_major_formatter(lambda value, _: plain_number(value))
    axes.use_sticky_edges = False
    axes.margins(x=0.06)
    for level, text in enumerate(texts):
        axes.annotate(
            text,
            (1.0, level),
            (10.0, 0.0),
            xycoords=axes.get_yaxis_transform(),
            textcoords="offset points",
            va="center",
            color=palette.QUIET,
            annotation_clip=False,
            parse_math=False,
        )
    return figure, axes


def plain_number(value: float) -> str:
    """Format a number of an axis: no powers of ten, commas where counts get long.

    Examples
    --------
    >>> plain_number(-1388.5), plain_number(50_000.0)
    ('−1388.5', '50,000')
    """
    return f"{value:{',' if abs(value) >= 1e4 else ''}.10g}".replace("-", "−")


def say_instead(axes: Axes, words: str) -> None:
    """Say in the middle of the axes why nothing is drawn there."""
    look: dict[str, Any] = {"ha": "center", "va": "center", "parse_math": False}
    axes.text(0.5, 0.5, words, transform=axes.transAxes, color=palette.ACCENT, **look)


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

    font = FontProperties(family="sans-serif", size=size_pt)
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
