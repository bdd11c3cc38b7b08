"""A pack drawn by itself, and its cans and voids as primitives of other drawings."""

from collections.abc import Iterable, Sequence

import shapely

from packsim.pack.state import Pack
from packsim.pack.voids import find_voids, void_polygons
from packsim.report.drawings.drawing import Circle, Drawing, Label, Polygon, Primitive, Stroke
from packsim.report.drawings.sheet_tools import NOTE_MM, PAPER_WIDTH_MM, box, heading
from packsim.report.words.numbers import ROWS, percent

VOID_SEGMENTS = 8
OPEN_GAP_SHARE = 0.03
"""Gaps up to this share of a diameter do not join voids here: an infeed a little short of full
opens every gap of the pack by less, and shading it all would show nothing."""
STRIP_REACH = 1.15
"""How far the drawn strip goes on beyond the pack, in diameters."""
GHOST_REACH = 0.6
"""Cans of the next period up to here are hinted at, so that the pack visibly goes on."""


def pack_drawing(pack: Pack) -> Drawing:
    """Draw a pack alone between its guide faces, travel up the sheet."""
    reach = STRIP_REACH * pack.diameter_mm
    width, foot, head = pack.clear_width_mm, -reach, pack.length_mm + reach
    # a narrow pack is long: keep the sheet no taller than it is wide
    scale = max(width / (PAPER_WIDTH_MM - 10.0), (head - foot) / PAPER_WIDTH_MM)
    faces = [Stroke((x, foot), (x, head), "face") for x in (0.0, width)]
    title = f"Pack · rows {ROWS[pack.layout]} · {pack.state}"
    note = (
        f"{pack.lanes} lanes in {width:.1f} mm, slack {pack.slack_mm:.1f} mm, "
        f"{pack.cans_per_metre:.1f} cans/m, {percent(pack.density)} of the strip covered"
    )
    parts: list[Primitive] = [*pack_primitives(pack), *faces]
    if not pack.fits:
        note = f"does not fit: {pack.reason}"
        at = (width / 2.0, pack.length_mm / 2.0)
        parts.append(Label(at, "does not fit", NOTE_MM * scale, "limit", "middle"))
    return strip_sheet(title, note, parts, (foot, head, width), scale)


def strip_sheet(
    title: str,
    note: str,
    parts: Iterable[Primitive],
    ends: Sequence[float],
    scale: float,
) -> Drawing:
    """Return a strip alone as a drawing, its foot, head and width the ``ends`` [mm]."""
    foot, head, width = ends
    side = max(5.0 * scale, (PAPER_WIDTH_MM * scale - width) / 2.0)
    low, high = (-side, foot - 4.0 * scale), (width + side, head + 16.0 * scale)
    top = heading((low[0] + 2.0 * scale, high[1] - 1.5 * scale), title, (note,), scale)
    return Drawing(title, low, high, scale, (*parts, *top))


def pack_primitives(pack: Pack, left_mm: float = 0.0) -> tuple[Primitive, ...]:
    """Return voids and cans of a pack, its left face at ``left_mm``, travel up [mm]."""
    diameter, length = pack.diameter_mm, pack.length_mm
    reach = STRIP_REACH * diameter
    right = left_mm + pack.clear_width_mm
    parts: list[Primitive] = [box(left_mm, -reach, right, length + reach, "strip")]
    if not pack.fits:
        return tuple(parts)
    frame = shapely.box(-0.1 * diameter, 0.0, length + 0.1 * diameter, pack.clear_width_mm)
    voids = find_voids(pack, OPEN_GAP_SHARE * diameter)
    for shape in void_polygons(voids, VOID_SEGMENTS)[voids.place != "interstice"]:
        parts += _outlines(shapely.intersection(shape, frame), left_mm)
    radius, ghosts = diameter / 2.0, GHOST_REACH * diameter
    cans = [(left_mm + float(y), float(x)) for x, y in pack.centres_mm]
    near = [(x, y + length) for x, y in cans if y < ghosts]
    near += [(x, y - length) for x, y in cans if y >= length - ghosts]
    parts += [Circle(at, radius, "can behind") for at in near]
    return (*parts, *(Circle(at, radius, "can") for at in cans))


def has_wide_voids(pack: Pack) -> bool:
    """Tell whether a pack has voids that `pack_primitives` shades."""
    voids = find_voids(pack, OPEN_GAP_SHARE * pack.diameter_mm)
    return pack.fits and bool((voids.place != "interstice").any())


def _outlines(shape: shapely.Geometry, left_mm: float) -> list[Primitive]:
    """Outer rings of a void; what stands inside one is painted over it as cans."""
    found: list[Primitive] = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and part.area > 0.0:
            ring = shapely.get_coordinates(part.exterior)[:-1]
            found.append(Polygon(tuple((left_mm + float(y), float(x)) for x, y in ring), "void"))
    return found
