"""The plan view: the line and its cans from above, as shapes on the screen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.passage import Frame
from viewer.line.line_map import LinePicture
from viewer.screen.camera import Box, Camera
from viewer.screen.drawing import Cans, Fill, Item, Line, Scene, Shape
from viewer.views.plan_line import line_over, line_under

__all__ = ["Voided", "cans_of", "index_of", "nearest_can", "plan_scene", "worst_can"]

Floats = NDArray[np.float64]

LEADING = 2.0
"""Can diameters beyond the window within which cans are still drawn."""


@dataclass(frozen=True, slots=True)
class Voided:
    """One shaded gap: its corners in line coordinates, shape (m, 2) [mm], and its place."""

    outline_mm: tuple[tuple[float, float], ...]
    place: str


def plan_scene(
    picture: LinePicture,
    frame: Frame,
    camera: Camera,
    *,
    unit_px: float = 1.0,
    voids: tuple[Voided, ...] = (),
    picked: int | None = None,
    footprints: bool = True,
) -> Scene:
    """Return the plan view.

    Parameters
    ----------
    picture : LinePicture
        What does not move.
    frame : Frame
        The cans.
    camera : Camera
        Where to look from; its view clips everything.
    unit_px : float
        Screen pixels per layout pixel [px].
    voids : tuple of Voided
        Gaps to shade.
    picked : int, optional
        Number of the can to ring.
    footprints : bool
        Whether nozzle footprints are drawn where there is room.

    Returns
    -------
    Scene
        From the bottom up: mat, voids, cans, footprints, headers, wires, brackets, ring.
    """
    cans = cans_of(frame, camera, (0.0, picture.length_mm))
    items: list[Item] = [Fill(camera.view, "canvas")]
    items += line_under(picture, camera, unit_px)
    items += [_void(camera, void) for void in voids]
    items.append(cans)
    items += line_over(picture, camera, unit_px, footprints=footprints)
    items += _ring(frame, camera, picked, unit_px)
    return Scene(tuple(items))


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
    return Cans(sx, sy, radius, frame.role[seen], direction, camera.view)


def nearest_can(frame: Frame, x_mm: float, y_mm: float) -> int | None:
    """Return the number of the can under a point, or None where there is none."""
    if not len(frame):
        return None
    away = np.hypot(frame.x_mm - x_mm, frame.y_mm - y_mm)
    at = int(np.argmin(away))
    return int(frame.id[at]) if away[at] <= 1.5 * frame.radius_mm[at] else None


def index_of(frame: Frame, number: int | None) -> int | None:
    """Return the place of a can in a frame's arrays, None where it is not there."""
    if number is None:
        return None
    found = np.flatnonzero(frame.id == number)
    return int(found[0]) if found.size else None


def worst_can(frame: Frame, low_mm: float, high_mm: float) -> int | None:
    """Return the number of the standing can with the most lean between two stations.

    The first of several equal ones is taken, so that the same frame gives the same can.
    """
    here = np.flatnonzero((frame.x_mm >= low_mm) & (frame.x_mm < high_mm) & (frame.role < 4))
    if not here.size:
        return None
    order = np.lexsort((frame.id[here], -frame.lean_rad[here], -frame.role[here].astype(np.int64)))
    return int(frame.id[here[order[0]]])


def _void(camera: Camera, void: Voided) -> Shape:
    points = tuple(camera.point_px(x, y) for x, y in void.outline_mm)
    role = {"edge pocket": "pocket", "crack": "crack"}.get(void.place, "void")
    return Shape(points, role, clip=camera.view)


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
            corners.append(Line(points, "picked", width, clip=view))
    return corners
