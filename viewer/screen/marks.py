"""The marks that tell can states and lines apart without colour, where no sprite draws them."""

from packsim.passage import ROLES
from packsim.report.can_looks import MARKS, Point, crossing, mark_shapes, ring
from viewer.screen.drawing import Item, Polygon, Polyline
from viewer.screen.layout import Box


def state_mark(
    state: str, at: Point, radius_px: float, direction_rad: float, clip: Box
) -> list[Item]:
    """Return the mark of a can state about a point of the screen, as its disc in the plan wears.

    ``radius_px`` is that of the disc, ``direction_rad`` where the can leans, on the screen.
    """
    ink, width = f"on {state}", max(2, round(0.22 * radius_px))
    return [
        Polygon(points, ink, clip=clip) if filled else Polyline(points, ink, width, clip=clip)
        for filled, points in mark_shapes(MARKS[ROLES.index(state)], at, radius_px, direction_rad)
    ]


def dot(at: Point, radius_px: float, role: str, clip: Box) -> Polygon:
    """Return a filled round mark."""
    return Polygon(ring(at, radius_px, 12), role, clip=clip)


def cross(at: Point, reach_px: float, role: str, width_px: int, clip: Box) -> tuple[Polyline, ...]:
    """Return a diagonal cross."""
    return tuple(Polyline(points, role, width_px, clip=clip) for points in crossing(at, reach_px))
