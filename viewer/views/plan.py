"""The plan view: the line and its cans from above, as shapes on the screen."""

import numpy as np

from packsim.passage import Frame
from viewer.line.find_can import index_of
from viewer.line.line_map import LineMap
from viewer.line.shaded_voids import ShadedVoid
from viewer.screen.camera import Box, Camera
from viewer.screen.drawing import Cans, Drawing, Fill, Item, Polygon, Polyline
from viewer.views.plan_line import line_over, line_under

LEADING = 2.0
"""Can diameters beyond the window within which cans are still drawn."""


def plan_drawing(
    line_map: LineMap,
    frame: Frame,
    camera: Camera,
    *,
    unit_px: float = 1.0,
    voids: tuple[ShadedVoid, ...] = (),
    picked: int | None = None,
    footprints: bool = True,
) -> Drawing:
    """Return the plan view, clipped to the camera's own.

    From the bottom up: mat, voids, cans, footprints where there is room, headers, wires, brackets,
    and a ring around the can picked. ``unit_px`` is screen pixels per layout pixel.
    """
    cans = cans_of(frame, camera, (0.0, line_map.length_mm))
    items: list[Item] = [Fill(camera.view, "canvas")]
    items += line_under(line_map, camera, unit_px)
    items += [_void(camera, void) for void in voids]
    items.append(cans)
    items += line_over(line_map, camera, unit_px, footprints=footprints)
    items += _ring(frame, camera, picked, unit_px)
    return Drawing(tuple(items))


def cans_of(frame: Frame, camera: Camera, ends_mm: tuple[float, float] | None = None) -> Cans:
    """Return the cans a camera sees, between two stations or wherever they are.

    A few beyond the edges of the view are kept so that none pops up. Cans off the ends of the
    line stand free in the model, so their roles mean nothing; they are left out.
    """
    reach = 0.0 if not len(frame) else float(frame.radius_mm.max()) * LEADING
    u0, u1, v0, v1 = camera.spans_mm(reach * camera.px_per_mm)
    if ends_mm is not None:
        u0, u1 = max(u0, ends_mm[0]), min(u1, ends_mm[1])
    x, y = frame.x_mm, frame.y_mm
    seen = np.flatnonzero((x >= u0) & (x <= u1) & (y >= v0) & (y <= v1))
    sx, sy = camera.to_px(x[seen], y[seen])
    radius = frame.radius_mm[seen].astype(np.float64) * camera.px_per_mm
    direction = frame.direction_rad[seen].astype(np.float64)
    return Cans(
        x_px=sx,
        y_px=sy,
        radius_px=radius,
        role=frame.role[seen],
        direction_rad=direction,
        clip=camera.view,
    )


def _void(camera: Camera, void: ShadedVoid) -> Polygon:
    points = tuple(camera.point_px(x, y) for x, y in void.outline_mm)
    role = {"edge pocket": "pocket", "crack": "crack"}.get(void.place, "void")
    return Polygon(points, role, clip=camera.view)


def _ring(frame: Frame, camera: Camera, picked: int | None, unit_px: float) -> list[Item]:
    i = index_of(frame, picked)
    if i is None:
        return []
    x, y = camera.point_px(float(frame.x_mm[i]), float(frame.y_mm[i]))
    radius = max(6.0 * unit_px, float(frame.radius_mm[i]) * camera.px_per_mm + 3.0 * unit_px)
    view: Box = camera.view
    gap, width = radius * 0.45, max(2, round(2 * unit_px))
    corners: list[Item] = []
    for sx in (-1, 1):
        for sy in (-1, 1):
            points = (
                (x + sx * radius, y + sy * gap),
                (x + sx * radius, y + sy * radius),
                (x + sx * gap, y + sy * radius),
            )
            corners.append(Polyline(points, "picked", width, clip=view))
    return corners
