"""A can in section, upright or leaning, with dome recess and pool, and the wires beside it."""

import math
from dataclasses import dataclass

from packsim.answers import Answer
from packsim.can import Can
from packsim.line import Stage
from packsim.report.drawings.drawing import (
    Circle,
    Label,
    Point,
    Polygon,
    Polyline,
    Primitive,
    Stroke,
    arc,
)
from packsim.report.drawings.sheet_tools import NOTE_MM, TEXT_MM, box
from packsim.report.words.display import Display

DOME_STEPS = 20


@dataclass(frozen=True, slots=True)
class CanSection:
    """A can cut down its middle, its centre of gravity at ``cg_mm`` with the pool in its dome.

    The left edge of its rim stands at ``pivot_mm`` across the sheet; about it the can leans to the
    left.
    """

    can: Can
    cg_mm: float
    pool_fraction: float
    pivot_mm: float
    lean_rad: float = 0.0

    def at(self, across_mm: float, up_mm: float) -> Point:
        """Return the place of a point given across from the left wall and up from the rim [mm]."""
        cos, sin = math.cos(self.lean_rad), math.sin(self.lean_rad)
        return self.pivot_mm + across_mm * cos - up_mm * sin, across_mm * sin + up_mm * cos

    @property
    def centre_of_gravity_mm(self) -> Point:
        """Place of the centre of gravity [mm]."""
        return self.at(self.can.diameter_mm / 2.0, self.cg_mm)

    def body(self, role: str) -> tuple[Primitive, ...]:
        """Return outline, recess and pool; the recess is cut from the top."""
        wide, tall = self.can.diameter_mm, self.can.height_mm
        bottom = ((0.0, tall), (0.0, 0.0), (wide, 0.0), (wide, tall))
        outline = (*(self.at(x, y) for x, y in bottom), *reversed(self.recess))
        return Polygon(outline, role), *((Polygon(self.pool, "pool"),) if self.pool else ())

    def outline(self, role: str) -> Polyline:
        """Return the outline alone, not filled."""
        return Polyline((*self.corners, self.corners[0]), role)

    @property
    def corners(self) -> tuple[Point, ...]:
        """The four corners, from the left edge of the rim over the top [mm]."""
        wide, tall = self.can.diameter_mm, self.can.height_mm
        corners = ((0.0, 0.0), (0.0, tall), (wide, tall), (wide, 0.0))
        return tuple(self.at(x, y) for x, y in corners)

    def gravity_mark(self, radius_mm: float) -> tuple[Primitive, ...]:
        """Return a circle at the centre of gravity, two quarters of it filled."""
        x, y = self.centre_of_gravity_mm
        parts: list[Primitive] = [Circle((x, y), radius_mm, "dome")]
        for start in (0.0, math.pi):
            rim = arc((x, y), radius_mm, start, start + math.pi / 2.0)
            parts.append(Polygon(((x, y), *rim), "centre of gravity"))
        return tuple(parts)

    def wall_line(self, length_mm: float, role: str) -> Stroke:
        """Draw the left wall out to a length from the rim [mm]."""
        return Stroke(self.at(0.0, 0.0), self.at(0.0, length_mm), role)

    @property
    def recess(self) -> tuple[Point, ...]:
        """The dome recess from left to right; the two ends of the rim without one [mm]."""
        return tuple(self.at(x, y) for x, y in self._dome(0.0))

    def _dome(self, above_mm: float) -> list[Point]:
        """Run left to right along the dome up to a height above its lowest point, 0 for the rim."""
        depth, rim = self.can.dome_depth_mm, self.can.dome_rim_radius_mm
        middle, tall = self.can.diameter_mm / 2.0, self.can.height_mm
        if depth <= 0.0 or rim <= 0.0:
            return [(middle - rim, tall), (middle + rim, tall)]
        sphere = (rim**2 + depth**2) / (2.0 * depth)
        level = depth if above_mm <= 0.0 else min(above_mm, depth)
        half = math.acos(max(-1.0, 1.0 - level / sphere))
        turns = [half * (2.0 * k / DOME_STEPS - 1.0) for k in range(DOME_STEPS + 1)]
        lowest = tall - depth
        return [
            (middle + sphere * math.sin(t), lowest + sphere * (1.0 - math.cos(t))) for t in turns
        ]

    @property
    def pool(self) -> tuple[Point, ...]:
        """The pool as in an upright can, also while it leans; none if dry.

        Its depth d is the root of the cubic V = πd²(3r − d)/3, r the radius of the sphere.
        """
        depth, rim = self.can.dome_depth_mm, self.can.dome_rim_radius_mm
        if self.pool_fraction <= 0.0 or depth <= 0.0 or rim <= 0.0:
            return ()
        sphere = (rim**2 + depth**2) / (2.0 * depth)
        share = 0.75 * self.pool_fraction * self.can.dome_volume_mm3 / (math.pi * sphere**3)
        sixth = math.asin(min(1.0, math.sqrt(share))) / 3.0
        level = 4.0 * sphere * math.sin(sixth) * math.sin(sixth + math.pi / 3.0)
        return tuple(self.at(x, y) for x, y in self._dome(level))


WIRE_RADIUS_MM = 2.0
"""Radius wires are drawn with; their true one is not part of a scenario."""

SIDE_PAPER_MM = 34.0
"""Room left of the guide for the heights [mm of paper]."""


@dataclass(frozen=True, slots=True)
class ElevationView:
    """What both views share; lengths in real millimetres, ``scale`` of them to one on paper."""

    answer: Answer
    stage: Stage
    can: Can
    scale: float
    display: Display
    slack_mm: float
    apart_mm: float

    @property
    def top_mm(self) -> float:
        """Height of the can or of the hold-down, whichever is more [mm]."""
        return max(self.can.height_mm, self.stage.hold_down_mm or 0.0)

    @property
    def type_mm(self) -> float:
        """Size of type [mm]."""
        return TEXT_MM * self.scale

    def section(self, pivot_mm: float, lean_rad: float = 0.0) -> CanSection:
        """Return the can standing or leaning on a pivot [mm, rad]."""
        return CanSection(
            self.can, self.answer.stance.cg_mm, self.answer.water.sprayed, pivot_mm, lean_rad
        )

    def length(self, mm: float) -> str:
        """Format a length [mm] without its unit, which the notes name."""
        return self.display.bare(mm)


def wires_seen(view: ElevationView) -> tuple[Primitive, ...]:
    """Draw the wires as they hang at mid-span, where tipping is judged, with their heights."""
    scale, size = view.scale, view.type_mm
    parts: list[Primitive] = []
    governing = view.answer.tipping.safe.governing_wire_mm
    edge = -SIDE_PAPER_MM * scale + 3.0 * scale
    post = -2.0 * WIRE_RADIUS_MM - 2.5 * scale
    top = max(view.stage.guides.wires.heights_mm) + 4.0 * scale
    parts.append(box(post - 1.6 * scale, 0.0, post, top, "bracket"))
    for set_to in view.stage.guides.wires.heights_mm:
        hung = _hung(view, set_to)
        level = set_to if hung is None else hung
        parts.append(Stroke((post, level), (-WIRE_RADIUS_MM, level), "bracket"))
        parts.append(Circle((-WIRE_RADIUS_MM, level), WIRE_RADIUS_MM, "wire"))
        words = "down" if hung is None else view.length(level)
        words += " ←" if hung is not None and hung == governing else ""
        parts.append(Stroke((edge + 11.5 * scale, level), (post - 2.2 * scale, level), "dimension"))
        parts.append(Label((edge, level), words, size, "dimension"))
    note = Label((edge, top + 3.0 * scale), "wires", NOTE_MM * scale, "note")
    return (*parts, note)


def _hung(view: ElevationView, set_mm: float) -> float | None:
    """Height at mid-span of the wire set to a height; None for one that hangs on the mat."""
    heights = view.stage.guides.wires.heights_mm
    missing = len(heights) - len(view.answer.wire_heights_mm)
    place = heights.index(set_mm) - missing
    return view.answer.wire_heights_mm[place] if place >= 0 else None
