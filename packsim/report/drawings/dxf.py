"""A drawing as DXF: real millimetres, a layer for each subject, dimensions that can be asked.

What a drawing shows stands in model space. A drawing with a title block has a layout too: its paper
with frame, tables and title block, and a viewport at its scale.
"""

import math
from io import StringIO
from typing import Any, Final

from packsim.constants import MM_PER_INCH
from packsim.errors import printable
from packsim.headers.row_search import HOLE_MM
from packsim.report.drawings.drawing import (
    ROLES,
    Circle,
    Dimension,
    Drawing,
    Entry,
    Hole,
    Label,
    Look,
    Ordinate,
    Polygon,
    Polyline,
    Primitive,
    Stroke,
)
from packsim.report.drawings.exploded import LEG, exploded, number_place
from packsim.report.drawings.sheet_tools import TEXT_ASPECT
from packsim.report.files.stamp import Stamp
from packsim.report.words.drilling import SHOP_IN

FONT: Final = "PLAIN"
"""Our text style, a plain sans-serif."""

CAP_SHARE: Final = 0.72
"""DXF counts the height of capitals; type is that much larger."""

FILLED: Final = ("wire", "bracket", "limit", "centre of gravity", "header above", "label")
"""Roles whose closed outlines are filled; fills of cans and grounds would hide other layers."""

_UNITS: Final[dict[str, dict[str, Any]]] = {
    "": {},
    "mm": {"dimdec": 1, "dimrnd": HOLE_MM},
    "in": {"dimdec": 3, "dimrnd": SHOP_IN, "dimlfac": 1.0 / MM_PER_INCH},
}
"""What dimensions of a unit have in common, by `packsim.report.drawings.drawing.shop_text`."""


def drawing_dxf(*drawings: Drawing, stamp: Stamp | None = None) -> str:
    """Return sheets as the text of one DXF R2010 file in real millimetres ($INSUNITS 4).

    Lines, closed and open polylines, true circles and texts stand on layers named after what they
    show; dimensions are dimensions, holes and title blocks blocks with attributes. No date, no
    random numbers: the same drawing gives the same text every time.
    """
    from ezdxf import new, options

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no dates, no random identifiers
    try:
        document = new("R2010", setup=False, units=4)
        document.header["$MEASUREMENT"] = 1
        document.header["$LTSCALE"] = 1.0
        if stamp is not None:
            document.header.custom_vars.append("TITLE", printable(stamp.title))
            document.header.custom_vars.append("STAMP", stamp.line)
        document.styles.add(FONT, font="txt")
        for unit, kept in _UNITS.items():
            same = {"dimtxsty": FONT, "dimzin": 0, "dimscale": 1.0, "dimdsep": ord(".")}
            document.dimstyles.new(f"SHOP_{unit.upper() or 'TEXT'}", dxfattribs=same | kept)
        for look in ROLES.values():
            _layer(document, look, drawings[0].scale)
        document.layers.add("VIEWPORTS", color=9).dxf.plot = 0
        space = document.modelspace()
        for number, drawing in enumerate(drawings, start=1):
            for thing in drawing.primitives:
                _write(document, space, thing)
            if drawing.block:
                _sheet(document, drawing, number)
        _extents(document, drawings)
        document.classes.add_required_classes(document.dxfversion)  # adds from a set, in any order
        document.classes.classes = dict(sorted(document.classes.classes.items()))
        target = StringIO()
        document.write(target)
    finally:
        options.write_fixed_meta_data_for_testing = fixed
    return target.getvalue()


def _extents(document: Any, drawings: tuple[Drawing, ...]) -> None:
    """Set what is shown first, and how far the drawing reaches."""
    low = [min(one.low_mm[axis] for one in drawings) for axis in (0, 1)]
    high = [max(one.high_mm[axis] for one in drawings) for axis in (0, 1)]
    document.modelspace().reset_extents((*low, 0.0), (*high, 0.0))
    middle = tuple((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    document.set_modelspace_vport((high[1] - low[1]) * 1.1, middle)


def _sheet(document: Any, drawing: Drawing, number: int) -> None:
    """Lay a drawing out on its paper."""
    name, paper = f"Sheet {number}", (drawing.width_mm, drawing.height_mm)
    wide, high = (length / drawing.scale for length in paper)
    if number == 1:
        document.layouts.rename("Layout1", name)
    layout = document.layouts.get(name) if number == 1 else document.layouts.new(name)
    layout.page_setup(size=(wide, high), margins=(0, 0, 0, 0), units="mm")
    layout.reset_extents((0.0, 0.0, 0.0), (wide, high, 0.0))
    window = layout.add_viewport(
        center=(wide / 2.0, high / 2.0),
        size=(wide, high),
        view_center_point=tuple(
            (a + b) / 2.0 for a, b in zip(drawing.low_mm, drawing.high_mm, strict=True)
        ),
        view_height=drawing.height_mm,
    )
    window.dxf.layer = "VIEWPORTS"
    for thing in drawing.paper:
        _write(document, layout, thing)
    title = "TITLE_BLOCK"
    entries = [thing for thing in drawing.block if isinstance(thing, Entry)]
    if title not in document.blocks:
        block = document.blocks.new(title)
        for part in drawing.block:
            if isinstance(part, Entry):
                _placed(block.add_attdef(part.tag, text=part.tag), part)
            else:
                _write(document, block, part)
    found = layout.add_blockref(title, (0.0, 0.0), dxfattribs={"layer": ROLES["frame"].layer})
    for entry in entries:
        _placed(found.add_attrib(entry.tag, _safe(entry.text)), entry)


def _placed(attribute: Any, entry: Entry) -> None:
    from ezdxf.enums import TextEntityAlignment

    attribute.dxf.height = entry.size_mm * CAP_SHARE
    attribute.dxf.style, attribute.dxf.layer = FONT, ROLES[entry.role].layer
    attribute.set_placement(entry.at_mm, align=TextEntityAlignment.MIDDLE_LEFT)


def _layer(document: Any, look: Look, scale: float) -> None:
    line_type = "CONTINUOUS"
    if look.dash_mm:
        line_type = f"{look.layer}_LINE"
        pieces = [piece * scale * (-1.0) ** k for k, piece in enumerate(look.dash_mm)]
        document.linetypes.add(line_type, [sum(map(abs, pieces)), *pieces])
    weight = min((13, 15, 18, 20, 25, 30, 40, 60), key=lambda w: abs(w - look.width_mm * 100.0))
    document.layers.add(look.layer, color=look.index, linetype=line_type, lineweight=weight)


def _write(document: Any, space: Any, thing: Primitive) -> None:
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
        case Dimension():
            _dimension(space, thing, look)
        case Ordinate(at, end, datum, size, unit):
            space.add_ordinate_x_dim(
                at,
                (end[0] - at[0], end[1] - at[1]),
                origin=(datum, at[1]),
                dimstyle=f"SHOP_{unit.upper()}",
                override=_sizes(size) | {"dimtad": 0, "dimtsz": 0.0, "dimexo": 0.0},
                dxfattribs=look,
            ).render()
        case Hole():
            _hole(document, space, thing, look)


def _sizes(size: float) -> dict[str, Any]:
    """Return what is as large as the type of a dimension asks."""
    return {
        "dimtxt": size * CAP_SHARE,
        "dimasz": LEG * size / 2.0,
        "dimtsz": 0.35 * size,
        "dimexo": 0.5 * size,
        "dimexe": 0.35 * size,
        "dimgap": 0.3 * size,
    }


def _dimension(space: Any, thing: Dimension, look: dict[str, Any]) -> None:
    """Write a dimension with its text where other writers have it."""
    (x0, y0), (x1, y1), off = thing.start_mm, thing.end_mm, thing.offset_mm
    turn = math.atan2(y1 - y0, x1 - x0)
    drawn = space.add_linear_dim(
        base=(x0 - off * math.sin(turn), y0 + off * math.cos(turn)),
        p1=thing.start_mm,
        p2=thing.end_mm,
        angle=math.degrees(turn),
        text="<>" if thing.unit else _safe(thing.text),
        dimstyle=f"SHOP_{thing.unit.upper() or 'TEXT'}",
        override=_sizes(thing.size_mm) | {"dimtad": 1},
        dxfattribs=look,
    )
    label = next(part for part in exploded((thing,)) if isinstance(part, Label))
    aside = {"start": 0.5, "middle": 0.0, "end": -0.5}[label.anchor]
    aside *= TEXT_ASPECT * label.size_mm * len(label.text)
    x, y = label.at_mm
    drawn.set_location((x + aside * math.cos(turn), y + aside * math.sin(turn)))
    drawn.render()


def _hole(document: Any, space: Any, hole: Hole, look: dict[str, Any]) -> None:
    """Write a hole as a block with its number, and its diameter or thread unseen."""
    name = f"HOLE_{hole.diameter_mm:g}".replace(".", "_")
    size, (x, y) = hole.size_mm * CAP_SHARE, hole.centre_mm
    beside = number_place(hole)
    if name not in document.blocks:
        block = document.blocks.new(name)
        text = {"height": size, "style": FONT, "layer": ROLES["label"].layer}
        at = beside[0] - x, beside[1] - y - size / 2.0
        block.add_attdef("NUMBER", at, "1", dxfattribs=text)
        block.add_attdef("SIZE", at, "", dxfattribs=text).is_invisible = True
        alone = Hole((0.0, 0.0), hole.diameter_mm, 0, "", hole.size_mm)
        for part in exploded((alone,)):
            if not isinstance(part, Label):
                _write(document, block, part)
    found = space.add_blockref(name, hole.centre_mm, dxfattribs=look)
    found.add_auto_attribs({"NUMBER": str(hole.number), "SIZE": _safe(hole.what)})


def _text(space: Any, text: Label, look: dict[str, Any]) -> None:
    from ezdxf.enums import TextEntityAlignment

    held = {
        "start": TextEntityAlignment.MIDDLE_LEFT,
        "middle": TextEntityAlignment.MIDDLE_CENTER,
        "end": TextEntityAlignment.MIDDLE_RIGHT,
    }[text.anchor]
    space.add_text(
        _safe(text.text),
        height=text.size_mm * CAP_SHARE,
        rotation=math.degrees(text.turn_rad),
        dxfattribs=look | {"style": FONT},
    ).set_placement(text.at_mm, align=held)


def _safe(text: str) -> str:
    """Return a text without control codes, which begin with %%."""
    return printable(text).replace("%%", "% %")
