"""A drawing as the bytes of a file: SVG, PNG and PDF here, DXF in its own module.

Several sheets are pages of a PDF, layouts of a DXF, and stand one under the other else. In SVG the
view box is in real millimetres, with one group per role and text escaped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from io import BytesIO
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from packsim.constants import MM_PER_INCH
from packsim.errors import InputError, between, printable
from packsim.report import palette
from packsim.report.charts.chart_frame import house_style
from packsim.report.drawings.drawing import (
    ROLES,
    Circle,
    Drawing,
    Label,
    Plain,
    Point,
    Polygon,
    Polyline,
    Stroke,
)
from packsim.report.drawings.exploded import painted
from packsim.report.files.stamp import Stamp

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

KINDS: Final = (".svg", ".dxf", ".png", ".pdf")
"""File name endings a drawing can be written to."""


def drawing_bytes(
    drawings: Drawing | Sequence[Drawing], kind: str, stamp: Stamp | None = None
) -> bytes:
    """Return one or more sheets as a file of a kind of `KINDS`; SVG and DXF in UTF-8.

    ``stamp`` says in DXF and PDF where it comes from; `packsim.report.files.stamp` puts it into
    files of the other kinds. Raises `InputError` for another kind.
    """
    sheets = (drawings,) if isinstance(drawings, Drawing) else tuple(drawings)
    if kind == ".svg":
        return drawing_svg(*sheets).encode()
    if kind == ".png":
        return drawing_png(*sheets)
    if kind == ".pdf":
        return drawing_pdf(*sheets, stamp=stamp)
    if kind != ".dxf":
        raise InputError("output", repr(kind), "a file name that ends in " + ", ".join(KINDS))
    from packsim.report.drawings.dxf import drawing_dxf

    return drawing_dxf(*sheets, stamp=stamp).encode()


def drawing_svg(*drawings: Drawing) -> str:
    """Return sheets as one self-contained ``<svg …>…</svg>``, the same every time.

    The view box of a sheet is in real millimetres, its width that of the paper.
    """
    if len(drawings) == 1:
        return _svg(drawings[0], 'xmlns="http://www.w3.org/2000/svg"')
    wide, high = _stack_mm(drawings)
    size = f'width="{_n(wide)}mm" height="{_n(high)}mm" viewBox="0 0 {_n(wide)} {_n(high)}"'
    title = escape(printable(f"{drawings[0].title}; sheet 1 of {len(drawings)}"))
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size}><title>{title}</title>\n'
    parts, y = [head], 0.0
    for one in drawings:
        parts.append(_svg(one, f'y="{_n(y)}"', unit=""))
        y += one.height_mm / one.scale
    return "".join([*parts, "</svg>\n"])


def _svg(drawing: Drawing, head: str, unit: str = "mm") -> str:
    x0 = drawing.low_mm[0]
    wide, high = drawing.width_mm, drawing.height_mm
    title = escape(printable(drawing.title))
    parts = [
        f'<svg {head} role="img" aria-label="{title}" '
        f'width="{_n(wide / drawing.scale)}{unit}" height="{_n(high / drawing.scale)}{unit}" '
        f'viewBox="{_n(x0)} {_n(-drawing.high_mm[1])} {_n(wide)} {_n(high)}" '
        f'font-family="sans-serif" stroke-linecap="butt" stroke-linejoin="round">',
        f"<title>{title}</title>",
    ]
    for key, members in groupby(
        painted(drawing), key=lambda thing: (thing.role, isinstance(thing, Label))
    ):
        parts.append(_group_open(key[0], drawing.scale, text=key[1]))
        parts += [_shape(thing) for thing in members]
        parts.append("</g>")
    return "\n".join([*parts, "</svg>"]) + "\n"


def _stack_mm(drawings: Sequence[Drawing]) -> tuple[float, float]:
    """Return width and height of the paper of sheets one under the other [mm]."""
    wide = max(one.width_mm / one.scale for one in drawings)
    return wide, sum(one.height_mm / one.scale for one in drawings)


def _group_open(role: str, scale: float, *, text: bool) -> str:
    look = ROLES[role]
    name = role.replace(" ", "-")
    if text:
        bold = ' font-weight="bold"' if look.bold else ""
        return f'<g class="{name}" fill="{look.line}"{bold} dominant-baseline="central">'
    line = f'stroke="{look.line}" stroke-width="{_n(look.width_mm * scale)}"' if look.line else ""
    dash = " ".join(_n(piece * scale) for piece in look.dash_mm)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<g class="{name}" fill="{look.fill or "none"}" {line}{dashes}>'


def _shape(thing: Plain) -> str:
    match thing:
        case Circle((x, y), radius, _):
            return f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(radius)}"/>'
        case Stroke((x0, y0), (x1, y1), _):
            return f'<line x1="{_n(x0)}" y1="{_n(-y0)}" x2="{_n(x1)}" y2="{_n(-y1)}"/>'
        case Polyline(points, _):
            return f'<polyline fill="none" points="{_points(points)}"/>'
        case Polygon(points, _):
            return f'<polygon points="{_points(points)}"/>'
        case Label():
            return _text(thing)


def _text(text: Label) -> str:
    x, y = _n(text.at_mm[0]), _n(-text.at_mm[1])
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    turn = ""
    if text.turn_rad:
        turn = f' transform="rotate({_n(-math.degrees(text.turn_rad))} {x} {y})"'
    size = f'font-size="{_n(text.size_mm)}"'
    return f'<text x="{x}" y="{y}" {size}{anchor}{turn}>{escape(printable(text.text))}</text>'


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_n(x)},{_n(-y)}" for x, y in points)


def _n(value: float) -> str:
    """Write a number to a hundredth of a millimetre, without trailing or negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


PT_PER_MM = 72.0 / MM_PER_INCH


def drawing_png(*drawings: Drawing, dpi: float = 200.0) -> bytes:
    """Return sheets as a PNG file of 30 to 1200 dots per inch of paper.

    The same drawing gives the same bytes every time.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    between("dpi", dpi, 30.0, 1200.0)
    with house_style():
        target = BytesIO()
        canvas: Any = FigureCanvasAgg(_figure(drawings, dpi))
        canvas.print_png(target, metadata={"Software": None})
    return target.getvalue()


def drawing_pdf(*drawings: Drawing, stamp: Stamp | None = None) -> bytes:
    """Return sheets as the pages of a PDF in true scale, the same bytes every time."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    told: dict[str, Any] = {"CreationDate": None, "Producer": None, "Creator": None}
    if stamp is not None:
        told |= {"Title": stamp.title, "Creator": stamp.program, "Subject": stamp.line}
    with house_style():
        target = BytesIO()
        with PdfPages(target, metadata=told) as pages:
            for one in drawings:
                canvas: Any = FigureCanvasPdf(_figure((one,)))
                pages.savefig(canvas.figure)
    return target.getvalue()


def _figure(drawings: Sequence[Drawing], dpi: float = 72.0) -> Figure:
    """Return sheets one under the other, as large as their paper."""
    from matplotlib.figure import Figure

    wide, high = _stack_mm(drawings)
    size = wide / MM_PER_INCH, high / MM_PER_INCH
    figure, top = Figure(figsize=size, dpi=dpi, facecolor=palette.PAPER), high
    for one in drawings:
        across, up = one.width_mm / one.scale, one.height_mm / one.scale
        top -= up
        axes = figure.add_axes((0.0, top / high, across / wide, up / high))
        axes.set_axis_off()
        axes.set_xlim(one.low_mm[0], one.high_mm[0])
        axes.set_ylim(one.low_mm[1], one.high_mm[1])
        for order, thing in enumerate(painted(one)):
            _paint(axes, thing, one.scale, order)
    return figure


def _paint(axes: Axes, thing: Plain, scale: float, order: int) -> None:
    from matplotlib import patches

    look: dict[str, Any] = _look(thing.role)
    match thing:
        case Circle(centre, radius, _):
            axes.add_patch(patches.Circle(centre, radius, zorder=order, **look))
        case Polygon(points, _):
            axes.add_patch(patches.Polygon(points, closed=True, zorder=order, **look))
        case Polyline(points, _):
            look["facecolor"] = "none"
            axes.add_patch(patches.Polygon(points, closed=False, zorder=order, **look))
        case Stroke(start, end, _):
            axes.add_patch(patches.Polygon((start, end), closed=False, zorder=order, **look))
        case Label():
            _write(axes, thing, scale, order)


def _look(role: str) -> dict[str, Any]:
    look = ROLES[role]
    dash: Any = "solid"
    if look.dash_mm:
        # matplotlib counts dashes in line widths
        dash = (0.0, [piece / look.width_mm for piece in look.dash_mm])
    return {
        "edgecolor": look.line or "none",
        "linewidth": look.width_mm * PT_PER_MM,
        "facecolor": look.fill or "none",
        "linestyle": dash,
    }


def _write(axes: Axes, text: Label, scale: float, order: int) -> None:
    look = ROLES[text.role]
    held = {"start": "left", "middle": "center", "end": "right"}[text.anchor]
    axes.text(
        text.at_mm[0],
        text.at_mm[1],
        text.text,
        fontsize=text.size_mm / scale * PT_PER_MM * 0.92,  # the one drawn with here runs wide
        color=look.line,
        weight="bold" if look.bold else "normal",
        ha=held,
        va="center_baseline",
        rotation=math.degrees(text.turn_rad),
        rotation_mode="anchor",
        zorder=order,
        parse_math=False,
    )
