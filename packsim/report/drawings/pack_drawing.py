"""A pack drawn by itself, and what a plan of one shows: cans, voids, dimensions, notes."""

from dataclasses import dataclass

import shapely

from packsim.answers import Answer
from packsim.line import Stage
from packsim.pack.state import Pack
from packsim.pack.voids import find_voids, void_polygons
from packsim.report.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Label,
    Polygon,
    Primitive,
    Stroke,
)
from packsim.report.drawings.sheet_tools import NOTE_MM, PAPER_WIDTH_MM, TEXT_MM, box, fits, heading
from packsim.report.words.display import Display
from packsim.report.words.numbers import pack_words, percent

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
    faces = [Stroke((x, foot), (x, head), "wire") for x in (0.0, width)]
    title = f"Pack · {pack.layout} · {pack.state}"
    note = (
        f"{pack.lanes} lanes in {width:.1f} mm, slack {pack.slack_mm:.1f} mm, "
        f"{pack.cans_per_metre:.1f} cans/m, {percent(pack.density)} of the strip covered"
    )
    parts: list[Primitive] = [*pack_primitives(pack), *faces]
    if not pack.fits:
        note = f"does not fit: {pack.reason}"
        at = (width / 2.0, pack.length_mm / 2.0)
        parts.append(Label(at, "does not fit", NOTE_MM * scale, "limit", "middle"))
    side = max(5.0 * scale, (PAPER_WIDTH_MM * scale - width) / 2.0)
    low = (-side, foot - 4.0 * scale)
    high = (width + side, head + 16.0 * scale)
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


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """Where things stand on a plan: across from the mat's left edge, up from the pack's start.

    The pack starts at ``start_mm`` along the stage; ``scale`` is real millimetres per millimetre of
    paper.
    """

    answer: Answer
    stage: Stage
    mat_mm: float
    start_mm: float
    scale: float
    display: Display

    @property
    def left_mm(self) -> float:
        """Left guide face [mm]."""
        guides = self.stage.guides
        return guides.centre_mm - guides.narrowest_mm / 2.0

    @property
    def right_mm(self) -> float:
        """Right guide face [mm]."""
        return self.left_mm + self.stage.guides.narrowest_mm

    @property
    def foot_mm(self) -> float:
        """Lower end of the drawn strip [mm]."""
        return -STRIP_REACH * self.answer.pack.diameter_mm

    @property
    def head_mm(self) -> float:
        """Upper end of the drawn strip [mm]."""
        return self.answer.pack.length_mm + STRIP_REACH * self.answer.pack.diameter_mm


def plan_dimensions(sheet: PlanSheet) -> tuple[Primitive, ...]:
    """Below: mat edge, faces, mat edge. Above: pack width and the slack beside it."""
    scale, size = sheet.scale, TEXT_MM * sheet.scale
    left, right, foot = sheet.left_mm, sheet.right_mm, sheet.foot_mm
    below = foot - 6.0 * scale
    parts: list[Primitive] = []
    for x0, x1, name in (
        (0.0, left, ""),
        (left, right, "clear width "),
        (right, sheet.mat_mm, ""),
    ):
        text = name + sheet.display.bare(x1 - x0)
        # a text wider than its space stands outside, on the free side
        outside = {left: "start", sheet.mat_mm: "end"}.get(x1, "middle")
        where = "middle" if fits(text, size, abs(x1 - x0)) else outside
        parts.append(Dimension((x0, foot), (x1, foot), below - foot, text, size, text_at=where))
    whole = f"mat {sheet.display.bare(sheet.mat_mm)}"
    off = below - foot - 6.0 * scale
    parts.append(Dimension((0.0, foot), (sheet.mat_mm, foot), off, whole, size))
    return (*parts, *_slack(sheet))


def _slack(sheet: PlanSheet) -> tuple[Primitive, ...]:
    pack = sheet.answer.pack
    if not pack.fits:
        at = ((sheet.left_mm + sheet.right_mm) / 2.0, (sheet.foot_mm + sheet.head_mm) / 2.0)
        return (
            Label(at, f"does not fit: {pack.reason}", TEXT_MM * sheet.scale, "limit", "middle"),
        )
    across = pack.centres_mm[:, 1]
    radius, size = pack.diameter_mm / 2.0, TEXT_MM * sheet.scale
    low = sheet.left_mm + float(across.min()) - radius
    high = sheet.left_mm + float(across.max()) + radius
    head, off = sheet.head_mm, 8.0 * sheet.scale
    text = f"over the cans {sheet.display.bare(high - low)}"
    parts: list[Primitive] = [Dimension((low, head), (high, head), off, text, size)]
    for x0, x1, where in ((sheet.left_mm, low, "start"), (high, sheet.right_mm, "end")):
        gap = x1 - x0
        if gap > 0.005 * pack.diameter_mm:
            text = sheet.display.bare(gap)
            parts.append(Dimension((x0, head), (x1, head), off, text, size, text_at=where))
    return tuple(parts)


def plan_notes(sheet: PlanSheet) -> str:
    """Say what the plan shows, in a few sentences."""
    pack, display, guides = sheet.answer.pack, sheet.display, sheet.stage.guides
    said = [
        f"{pack_words(sheet.answer, display.length)}; {pack.layout}; "
        f"slack {display.length(sheet.answer.slack_mm)} in all. Stage from "
        f"{display.length(sheet.start_mm)} to {display.length(sheet.start_mm + pack.length_mm)}; "
        f"{display.lengths_in}, cold, nominal."
    ]
    if has_wide_voids(pack):
        said.append("Shaded: voids wider than the gaps between touching cans.")
    if guides.widest_mm != guides.narrowest_mm:
        ends = display.bare(guides.narrowest_mm), display.length(guides.widest_mm)
        said.append(f"Brackets stand from {' to '.join(ends)}; drawn at the narrowest.")
    sides = {header.side for header in sheet.stage.headers}
    if "above" in sides:
        end = ";" if "below" in sides else "."
        said.append(f"Filled dots and solid outlines: nozzles above and what they cover{end}")
    if "below" in sides:
        said.append("rings and dashed outlines: below.")
    return " ".join(said)
