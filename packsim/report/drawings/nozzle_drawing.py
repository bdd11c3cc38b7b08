"""The header against the lanes as a drawing: seen from above, travel up the sheet.

Across is the place from the mat's left edge in real millimetres, so a drawing can be measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.headers import Arrangement, HeaderCheck
from packsim.line import Scenario
from packsim.nozzles.lane_lines import equal_pitch_mm
from packsim.report.drawings.drawing import Circle, Dimension, Drawing, Label, Primitive, Stroke
from packsim.report.drawings.sheet_tools import box, spray
from packsim.report.words.display import Display
from packsim.report.words.numbers import stage_words
from packsim.spray.jets import Footprint, footprint_of

NOZZLE_RADIUS_MM: Final = 4.0
"""Radius a nozzle is drawn with: a mark, not a bore."""

MOST_STRIPS: Final = 12
"""More strips than this do not fit a sheet; name a stage or a size."""

_PAPER_MM: Final = 260.0
_TYPE_MM: Final = 2.6
_ROWS: Final = 2.2  # cans drawn along travel, in diameters


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """One header over one pack; places across are from the mat's left edge.

    ``side`` is where the header sprays from. ``cans_mm`` are some cans, along travel and across,
    shape (n, 2); ``lines_mm`` and ``nozzles_mm`` are lanes and nozzles. ``footprint`` is the spray
    of each nozzle on the plane it washes, where nozzles are known.
    """

    title: str
    side: str
    diameter_mm: float
    cans_mm: Floats
    lines_mm: Floats
    nozzles_mm: Floats
    footprint: Footprint | None

    @property
    def half_mm(self) -> float:
        """Half the height the strip takes on the sheet [mm]."""
        spray = 0.0 if self.footprint is None else self.footprint.half_along_mm
        return max(spray, (_ROWS / 2.0 + 0.5) * self.diameter_mm)


def check_drawing(case: Scenario, checks: Sequence[HeaderCheck], display: Display) -> Drawing:
    """Draw headers against lanes, 1 to `MOST_STRIPS` strips one under the other.

    Each shows cans, lanes, the header with its nozzles and sprays, nozzle pitch and the place of
    the first nozzle. Dimensions are in the unit of the display, the drawing itself always in mm.
    Raises `InputError` if there is no strip, or more than a sheet takes.
    """
    strips, title = _strips(checks, display), f"{case.name}: headers against lanes"
    mat_width_mm = case.mat.width_mm
    if not 1 <= len(strips) <= MOST_STRIPS:
        got = f"{len(strips)} arrangements"
        raise InputError("drawing", got, f"1 to {MOST_STRIPS}: name a stage or a size")
    left = min([0.0, *(float(s.nozzles_mm.min()) for s in strips)])
    right = max([mat_width_mm, *(float(s.nozzles_mm.max()) for s in strips)])
    reach = max((s.footprint.half_across_mm for s in strips if s.footprint), default=0.0)
    low, high = left - reach - 10.0, right + reach + 10.0
    scale = (high - low) / _PAPER_MM
    kind = _TYPE_MM * scale
    things: list[Primitive] = []
    y = -3.0 * kind
    for strip in strips:
        middle = y - 2.0 * kind - strip.half_mm
        things += _strip(strip, middle, mat_width_mm, kind, display)
        y = middle - strip.half_mm - 6.0 * kind
    note = "seen from above, travel up the sheet; places from the mat's left edge"
    things.append(Label((low + kind, -1.2 * kind), title, 1.3 * kind, "title"))
    things.append(Label((high - kind, -1.2 * kind), note, kind, "note", "end"))
    return Drawing(title, (low, y), (high, 0.6 * kind), scale, tuple(things))


def _strip(
    strip: Strip, middle: float, mat_mm: float, kind: float, display: Display
) -> list[Primitive]:
    half = strip.half_mm
    bottom, top = middle - half, middle + half
    things: list[Primitive] = [box(0.0, bottom, mat_mm, top, "mat")]
    things.append(Label((0.0, top + 1.1 * kind), strip.title, kind, "label"))
    radius = strip.diameter_mm / 2.0
    along = strip.cans_mm[:, 0] - np.mean(strip.cans_mm[:, 0])
    for x, y in zip(strip.cans_mm[:, 1], along, strict=True):
        things.append(Circle((float(x), middle + float(y)), radius, "can"))
    things += [Stroke((float(x), bottom), (float(x), top), "lane") for x in strip.lines_mm]
    role = f"footprint {strip.side}"
    if strip.footprint is not None:
        things += [spray(strip.footprint, (float(x), middle), role) for x in strip.nozzles_mm]
    role = f"header {strip.side}"
    ends = float(strip.nozzles_mm.min()), float(strip.nozzles_mm.max())
    things.append(Stroke((ends[0] - radius, middle), (ends[1] + radius, middle), role))
    things += [Circle((float(x), middle), NOZZLE_RADIUS_MM, role) for x in strip.nozzles_mm]
    return things + _dimensions(strip, middle, bottom, kind, display)


def _dimensions(
    strip: Strip, middle: float, bottom: float, kind: float, display: Display
) -> list[Primitive]:
    """First nozzle from the mat's edge, the pitch at the other end, both under the strip."""
    places = np.sort(strip.nozzles_mm)
    first, off = float(places[0]), -(middle - bottom) - 1.5 * kind
    found: list[Primitive] = []
    if abs(first) > 1e-6:
        start, end = ((x, middle) for x in sorted((0.0, first)))
        where = "middle" if abs(first) > 6.0 * kind else "end"
        found.append(Dimension(start, end, off, display.length(first), kind, text_at=where))
    if len(places) > 1:
        a, b = float(places[-2]), float(places[-1])
        text = display.fine(b - a)
        text = text if equal_pitch_mm(places) is None else f"{len(places) - 1} x {text}"
        found.append(Dimension((a, middle), (b, middle), off, text, kind, text_at="start"))
    return found


def _strips(checks: Sequence[HeaderCheck], display: Display) -> tuple[Strip, ...]:
    """Return the headers over the packs that fit, as the guides are set; stages alike once."""
    alike: dict[tuple[object, ...], tuple[Strip, Arrangement, list[str]]] = {}
    cases = [(check.at, side) for check in checks for side in check.sides]
    for at, side in cases:
        met = [h for h in at.clear if h.side == side.side]
        patch = footprint_of(met[0], at.stance.height_mm) if met else None
        near = at.pack.centres_mm[:, 0] < _ROWS * at.can.diameter_mm
        off = display.length(side.now.worst_mm)
        strip = Strip(
            title=f"lane {side.now.worst_lane + 1} is {off} off its nozzle",
            side=side.side,
            diameter_mm=at.can.diameter_mm,
            cans_mm=at.pack.centres_mm[near] + np.array([0.0, at.left_mm]),
            lines_mm=at.lines_mm,
            nozzles_mm=at.nozzles_mm(side.side),
            footprint=patch,
        )
        outline = None if patch is None else (patch.shape, patch.half_long_mm, patch.twist_rad)
        places = np.round(np.concatenate([strip.lines_mm, strip.nozzles_mm]), 6).tobytes()
        key = (at.can.name, side.side, outline, places, strip.title)
        alike.setdefault(key, (strip, at, []))[2].append(at.stage.name)
    of = list(dict.fromkeys(at.stage.name for at, _ in cases))
    found = []
    for strip, at, stages in alike.values():
        where = f"headers {strip.side}, {stage_words(stages, of)}"
        title = f"{at.can.name}, {at.pack.lanes} lanes; {where}: {strip.title}"
        found.append(replace(strip, title=title))
    return tuple(found)
