"""A can in section, upright or leaning, with dome recess and pool."""

import math
from dataclasses import dataclass

from packsim.can import Can
from packsim.report.drawings.drawing import Circle, Point, Polygon, Polyline, Primitive, Stroke
from packsim.report.drawings.sheet_tools import arc

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

    @property
    def _sphere_mm(self) -> float:
        """Radius of the sphere that the recess is a cap of, 0 without a recess."""
        depth, rim = self.can.dome_depth_mm, self.can.dome_rim_radius_mm
        return (rim**2 + depth**2) / (2.0 * depth) if depth > 0.0 and rim > 0.0 else 0.0

    def _dome(self, above_mm: float) -> list[Point]:
        """Run left to right along the dome up to a height above its lowest point, 0 for the rim."""
        depth, rim = self.can.dome_depth_mm, self.can.dome_rim_radius_mm
        middle, tall, sphere = self.can.diameter_mm / 2.0, self.can.height_mm, self._sphere_mm
        if sphere == 0.0:
            return [(middle - rim, tall), (middle + rim, tall)]
        level = depth if above_mm <= 0.0 else min(above_mm, depth)
        half = math.acos(max(-1.0, 1.0 - level / sphere))
        turns = [half * (2.0 * k / DOME_STEPS - 1.0) for k in range(DOME_STEPS + 1)]
        lowest = tall - depth
        return [
            (middle + sphere * math.sin(t), lowest + sphere * (1.0 - math.cos(t))) for t in turns
        ]

    @property
    def pool(self) -> tuple[Point, ...]:
        """The pool with its surface level, less what runs over the rim at this lean; none if dry.

        Its depth d is the root of the cubic V = πd²(3r − d)/3, r the radius of the sphere, below
        whose centre it hangs however the can leans.
        """
        share, sphere = min(self.pool_fraction, self.can.water_kept(self.lean_rad)), self._sphere_mm
        if share <= 0.0 or sphere == 0.0:
            return ()
        part = 0.75 * share * self.can.dome_volume_mm3 / (math.pi * sphere**3)
        sixth = math.asin(min(1.0, math.sqrt(part))) / 3.0
        level = 4.0 * sphere * math.sin(sixth) * math.sin(sixth + math.pi / 3.0)
        centre = self.can.diameter_mm / 2.0, self.can.height_mm - self.can.dome_depth_mm + sphere
        x, y = self.at(*centre)
        return tuple((x + u - centre[0], y + v - centre[1]) for u, v in self._dome(level))
