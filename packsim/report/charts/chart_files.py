"""A finished chart as text or bytes: the same chart gives the same file every time."""

from __future__ import annotations

import hashlib
import re
from io import BytesIO, StringIO
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from packsim.errors import between
from packsim.report.charts.chart_frame import house_style
from packsim.report.words.numbers import printable

if TYPE_CHECKING:
    from matplotlib.figure import Figure


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
    title = escape(printable(str(figure.get_label())), {'"': "&quot;"})
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
