"""A drawing as SVG: view box in real millimetres, one group per role, text escaped."""

import math
from html import escape
from itertools import groupby

from packsim.report.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Label,
    Point,
    Polygon,
    Polyline,
    Primitive,
    Stroke,
    exploded,
)
from packsim.report.drawings.roles import ROLES
from packsim.report.words.numbers import printable


def drawing_svg(drawing: Drawing) -> str:
    """Return a drawing as one self-contained ``<svg …>…</svg>``, the same every time.

    Its view box is in real millimetres, its width that of the paper.
    """
    x0 = drawing.low_mm[0]
    wide, high = drawing.width_mm, drawing.height_mm
    title = escape(printable(drawing.title))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{title}" '
        f'width="{_n(wide / drawing.scale)}mm" height="{_n(high / drawing.scale)}mm" '
        f'viewBox="{_n(x0)} {_n(-drawing.high_mm[1])} {_n(wide)} {_n(high)}" '
        f'font-family="sans-serif" stroke-linecap="butt" stroke-linejoin="round">',
        f"<title>{title}</title>",
    ]
    flat = exploded(drawing.primitives)
    for key, members in groupby(flat, key=lambda thing: (thing.role, isinstance(thing, Label))):
        parts.append(_group_open(key[0], drawing.scale, text=key[1]))
        parts += [_shape(thing) for thing in members]
        parts.append("</g>")
    return "\n".join([*parts, "</svg>"]) + "\n"


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


def _shape(thing: Primitive) -> str:
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
        case Dimension():
            return "".join(_shape(part) for part in exploded((thing,)))


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
