"""A drawing as DXF: real millimetres, one layer per role, circles as circles."""

import math
from io import StringIO
from typing import Any, Final

from packsim.report.drawings.drawing import (
    ROLES,
    Circle,
    Drawing,
    Label,
    Look,
    Plain,
    Polygon,
    Polyline,
    Stroke,
    exploded,
)
from packsim.report.words.numbers import printable

FONT: Final = "PLAIN"
"""Our text style, a plain sans-serif."""

CAP_SHARE: Final = 0.72
"""DXF counts the height of capitals; type is that much larger."""

FILLED: Final = ("wire", "bracket", "limit", "centre of gravity", "header above", "label")
"""Roles whose closed outlines are filled; fills of cans and grounds would hide other layers."""


def drawing_dxf(drawing: Drawing) -> str:
    """Return a drawing as the text of a DXF R2010 file in real millimetres ($INSUNITS 4).

    Lines, closed and open polylines, true circles and texts stand on layers named after what they
    show. No date, no random numbers: the same drawing gives the same text every time.
    """
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no dates, no random identifiers
    try:
        document = new("R2010", setup=False, units=4)
        document.header["$MEASUREMENT"] = 1
        document.header["$LTSCALE"] = 1.0
        document.styles.add(FONT, font="txt")
        for look in ROLES.values():
            _layer(document, look, drawing.scale)
        space = document.modelspace()
        for thing in exploded(drawing.primitives):
            _write(space, thing)
        x, y = ((a + b) / 2.0 for a, b in zip(drawing.low_mm, drawing.high_mm, strict=True))
        document.set_modelspace_vport(drawing.height_mm * 1.1, (x, y))
        document.classes.add_required_classes(document.dxfversion)  # adds from a set, in any order
        document.classes.classes = dict(sorted(document.classes.classes.items()))
        target = StringIO()
        document.write(target)
    finally:
        options.write_fixed_meta_data_for_testing = fixed
    return target.getvalue()


def _layer(document: Any, look: Look, scale: float) -> None:
    line_type = "CONTINUOUS"
    if look.dash_mm:
        line_type = f"{look.layer}_LINE"
        pieces = [piece * scale * (-1.0) ** k for k, piece in enumerate(look.dash_mm)]
        document.linetypes.add(line_type, [sum(map(abs, pieces)), *pieces])
    weight = min((13, 15, 18, 20, 25, 30, 40, 60), key=lambda w: abs(w - look.width_mm * 100.0))
    document.layers.add(look.layer, color=look.index, linetype=line_type, lineweight=weight)


def _write(space: Any, thing: Plain) -> None:
    look: dict[str, Any] = {"layer": ROLES[thing.role].layer}
    match thing:
        case Circle(centre, radius, _):
            space.add_circle(centre, radius, dxfattribs=look)
        case Stroke(start, end, _):
            space.add_line(start, end, dxfattribs=look)
        case Polyline(points, _):
            space.add_lwpolyline(points, dxfattribs=look)
        case Polygon(points, role):
            space.add_lwpolyline(points, close=True, dxfattribs=look)
            if role in FILLED:
                space.add_hatch(dxfattribs=look | {"color": 256}).paths.add_polyline_path(
                    points, is_closed=True
                )
        case Label():
            _text(space, thing, look)


def _text(space: Any, text: Label, look: dict[str, Any]) -> None:
    from ezdxf.enums import TextEntityAlignment

    held = {
        "start": TextEntityAlignment.MIDDLE_LEFT,
        "middle": TextEntityAlignment.MIDDLE_CENTER,
        "end": TextEntityAlignment.MIDDLE_RIGHT,
    }[text.anchor]
    space.add_text(
        printable(text.text).replace("%%", "% %"),  # %% starts a control code
        height=text.size_mm * CAP_SHARE,
        rotation=math.degrees(text.turn_rad),
        dxfattribs=look | {"style": FONT},
    ).set_placement(text.at_mm, align=held)
