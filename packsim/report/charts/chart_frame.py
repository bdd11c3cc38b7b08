"""The frame every chart stands in, sheet, axes and type; and the finished chart as text or bytes.

The same chart gives the same file every time.
"""

from __future__ import annotations

import hashlib
import logging
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from html import escape
from io import BytesIO, StringIO
from typing import TYPE_CHECKING, Any, Final

from packsim.constants import MM_PER_INCH
from packsim.errors import between, positive, printable
from packsim.report import palette
from packsim.report.charts.chart_data import Sheet, short_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

# matplotlib tells of a home it cannot write, where charts are the same; it does when it is loaded,
# which is after this
logging.getLogger("matplotlib").setLevel(logging.ERROR)

TEXT_PT: Final = 8.5
"""Size of all text in a chart but the title [pt]."""

TITLE_PT: Final = 10.5
LINE_STEP_PT: Final = 12.0
EDGE_PT: Final = 8.0


@contextmanager
def house_style() -> Iterator[None]:
    """Draw and save with our own settings whatever the user's matplotlib settings say."""
    import matplotlib as mpl

    with mpl.rc_context(), warnings.catch_warnings():
        # a letter that no typeface here has is drawn as a box, or by the reader's own typeface
        warnings.filterwarnings("ignore", r"Glyph \d+", UserWarning)
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

    ``left`` and ``right`` must fit beside the axes, ``top_rows`` of labels above them.
    """
    from matplotlib.figure import Figure

    size = (sheet.width_mm / MM_PER_INCH, sheet.height_mm / MM_PER_INCH)
    figure = Figure(figsize=size, facecolor=palette.PAPER)
    figure.set_label(" ".join(filter(None, (sheet.title, sheet.about))))
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

    Row k, counted from the top, is at y = k and ``row_mm`` high with its gap; the rows set the
    height of the sheet. ``top_rows`` of labels stand above the axes.
    """
    head_mm = 15.0 + 4.3 * top_rows + sheet.head_pt * MM_PER_INCH / 72.0
    sheet = replace(sheet, height_mm=head_mm + len(rows) * positive("row_mm", row_mm))
    names, texts = [short_name(name) for name, _ in rows], [text for _, text in rows]
    # bold names are wider
    figure, axes = frame(
        sheet, left=[f"{name}  " for name in names], right=texts, top_rows=top_rows
    )
    axes.grid(visible=False, axis="y")
    axes.grid(visible=True, axis="x", color=palette.GRID, linewidth=0.5)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks(range(len(rows)), names, parse_math=False)
    axes.tick_params(axis="y", length=0.0, labelcolor=palette.INK)
    plain_numbers(axes.xaxis)
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


def plain_numbers(axis: Axis) -> None:
    """Write the numbers of an axis plainly: no powers of ten, commas where its counts get long.

    Few people on a floor read 10 to the 2, and 5000 beside 10,000 reads as two kinds of number.
    """

    def text(value: float, _: object) -> str:
        comma = "," if max(map(abs, axis.get_view_interval())) >= 1e4 else ""
        return f"{value:{comma}.10g}".replace("-", "−")

    axis.set_major_formatter(text)


def say_instead(axes: Axes, words: str) -> None:
    """Say in the middle of the axes why nothing is drawn there."""
    look: dict[str, Any] = {"ha": "center", "va": "center", "parse_math": False}
    axes.text(0.5, 0.5, words, transform=axes.transAxes, color=palette.ACCENT, **look)


def _plain_axes(axes: Axes) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(palette.QUIET)
        axes.spines[side].set_linewidth(0.7)
    axes.tick_params(colors=palette.QUIET, width=0.7, length=3.0, labelsize=TEXT_PT)
    axes.grid(visible=True, axis="y", color=palette.GRID, linewidth=0.5)
    axes.set_axisbelow(True)


def text_width(text: str) -> float:
    """Width of a text in the chart's own font [pt]; a viewer's font is rarely wider."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="sans-serif", size=TEXT_PT)
    widths = [
        text_to_path.get_text_width_height_descent(line, font, ismath=False)[0]
        for line in text.split("\n")
    ]
    return float(max(widths))


def chart_svg(figure: Figure, place: str = "") -> str:
    """Return a chart as one self-contained ``<svg …>…</svg>``.

    There is no XML head, metadata, style sheet or date. Names inside carry a digest of the chart
    and of its ``place`` on a page, so that several charts can stand in one page.
    """
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    target = StringIO()
    with house_style():
        nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(target, metadata=nothing)
    text = target.getvalue()
    text = text[text.index("<svg") :].rstrip()
    text = re.sub(r"<!--.*?-->\s*|<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    # a style sheet inside one chart would reach every other drawing of a page
    text = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>\s*", "", text, flags=re.DOTALL)
    text = text.replace("xlink:href", "href").replace(
        ' xmlns:xlink="http://www.w3.org/1999/xlink"', ""
    )
    # the viewer's own typeface: charts leave room for a wide one
    text = re.sub(r"(?:'[^']*', )+sans-serif", "sans-serif", text)
    title = escape(printable(str(figure.get_label())))
    named = f'role="img" aria-label="{title}" ' if title else ""
    text = text.replace("<svg ", f'<svg {named}stroke-linejoin="round" stroke-linecap="butt" ', 1)
    if title:
        text = re.sub(
            r"(<svg [^>]*>)", lambda head: f"{head[1]}<title>{title}</title>", text, count=1
        )
    return _own_names(text, place) + "\n"


def _own_names(text: str, place: str) -> str:
    """Drop names nothing refers to, and make the others belong to this chart alone."""
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', text))
    mark = "c" + hashlib.sha256((place + text).encode()).hexdigest()[:8]

    def name(match: re.Match[str]) -> str:
        return f' id="{mark}-{match[1]}"' if match[1] in used else ""

    text = re.sub(r' id="([^"]+)"', name, text)
    return re.sub(r'(href="#|url\(#)', rf"\g<1>{mark}-", text)


def chart_png(figure: Figure, dpi: float = 150.0) -> bytes:
    """Return a chart as a PNG file of 30 to 1200 dots per inch, without date or software name."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    between("dpi", dpi, 30.0, 1200.0)
    target = BytesIO()
    with house_style():
        before = figure.dpi
        figure.set_dpi(dpi)
        canvas: Any = FigureCanvasAgg(figure)
        canvas.print_png(target, metadata={"Software": None})
        figure.set_dpi(before)
    return target.getvalue()
