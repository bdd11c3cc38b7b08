"""The marks that tell can states and lines apart without colour, where no sprite draws them."""

import math

from packsim.passage import ROLES
from viewer.screen.drawing import Item, Polygon, Polyline
from viewer.screen.layout import Box
from viewer.screen.roles import MARKS

Point = tuple[float, float]


def state_mark(
    state: str, at: Point, radius_px: float, direction_rad: float, clip: Box
) -> list[Item]:
    """Return the mark of a can state about a point of the screen, as its disc in the plan wears.

    ``radius_px`` is that of the disc, ``direction_rad`` where the can leans, on the screen.
    """
    mark, ink = MARKS[ROLES.index(state)], f"on {state}"
    width = max(2, round(0.22 * radius_px))
    cos, sin = math.cos(direction_rad), math.sin(direction_rad)

    def turned(along: float, across: float) -> Point:
        x = at[0] + radius_px * (along * cos - across * sin)
        return x, at[1] + radius_px * (along * sin + across * cos)

    if mark == "dot":
        return [dot(at, 0.25 * radius_px, ink, clip)]
    if mark == "cross":
        return list(cross(at, 0.55 * radius_px, ink, width, clip))
    if mark == "bar":
        return [Polyline((turned(0.0, 0.0), turned(0.72, 0.0)), ink, width, clip=clip)]
    if mark == "arrow":
        head = turned(0.76, 0.0), turned(0.05, 0.55), turned(0.05, -0.55)
        stem = Polyline((turned(-0.62, 0.0), turned(0.1, 0.0)), ink, width, clip=clip)
        return [stem, Polygon(head, ink, clip=clip)]
    return []


def dot(at: Point, radius_px: float, role: str, clip: Box) -> Polygon:
    """Return a filled round mark."""
    turns = (2.0 * math.pi * k / 12 for k in range(12))
    ring = ((at[0] + radius_px * math.cos(t), at[1] + radius_px * math.sin(t)) for t in turns)
    return Polygon(tuple(ring), role, clip=clip)


def cross(at: Point, reach_px: float, role: str, width_px: int, clip: Box) -> tuple[Polyline, ...]:
    """Return a diagonal cross."""
    x, y = at
    ends = (((x - reach_px, y - s * reach_px), (x + reach_px, y + s * reach_px)) for s in (1, -1))
    return tuple(Polyline(points, role, width_px, clip=clip) for points in ends)
