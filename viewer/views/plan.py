"""The plan view: the line and its cans from above, as shapes on the screen."""

import math
from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from packsim.passage import Frame
from packsim.report.can_looks import void_name
from viewer.line import LineMap, index_of
from viewer.screen.camera import Camera
from viewer.screen.drawing import Cans, Drawing, Fill, Item, Polygon, Polyline, Text
from viewer.screen.layout import RULER_PX, Box
from viewer.views.down import DOWN, SHAPE_FROM_PX, cans_down
from viewer.views.drops import drops
from viewer.views.headers import header_from_above
from viewer.voids import ShadedVoid

LEADING = 2.0
"""Can diameters beyond the window within which cans are still drawn."""


def plan_drawing(
    line_map: LineMap,
    frame: Frame,
    camera: Camera,
    *,
    unit_px: float = 1.0,
    height_mm: float = 0.0,
    ways: Mapping[int, str] | None = None,
    voids: tuple[ShadedVoid, ...] = (),
    picked: int | None = None,
    footprints: bool = True,
) -> Drawing:
    """Return the plan view, clipped to the camera's own.

    From the bottom up: mat, voids, cans, footprints where there is room, headers, wires, brackets,
    and a ring around the can picked. ``unit_px`` is screen pixels per layout pixel. Tipped cans are
    drawn as they are down where the can height and what each does are given.
    """
    items: list[Item] = [Fill(camera.view, "canvas")]
    under, over = _standing(line_map, camera, unit_px, footprints)
    items += under
    items += [_void(camera, void) for void in voids]
    ends = 0.0, line_map.length_mm
    cans = cans_of(frame, camera, ends)
    shapes = (
        [] if not ways else cans_down(frame, camera, ends, height_mm, ways=ways, unit_px=unit_px)
    )
    if shapes:
        cans = cans.only((cans.role != DOWN) | (cans.radius_px < SHAPE_FROM_PX))
    below, above = (
        drops(line_map, frame, camera, unit_px, side) if footprints else []
        for side in ("below", "above")
    )
    items += [*below, cans, *shapes, *above]
    items += over
    items += _ring(frame, camera, picked, unit_px)
    return Drawing(tuple(items))


@lru_cache(maxsize=8)
def _standing(
    line_map: LineMap, camera: Camera, unit_px: float, footprints: bool
) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
    """Return what stands still under and over the cans; the same until somebody looks elsewhere."""
    over = line_over(line_map, camera, unit_px, footprints=footprints)
    return tuple(line_under(line_map, camera, unit_px)), tuple(over)


def cans_of(frame: Frame, camera: Camera, ends_mm: tuple[float, float]) -> Cans:
    """Return the cans a camera sees between two stations.

    A few beyond the edges of the view are kept so that none pops up. Cans off the ends of the
    line stand free in the model, so their roles mean nothing; they are left out.
    """
    reach = 0.0 if not len(frame) else float(frame.radius_mm.max()) * LEADING
    u0, u1, v0, v1 = camera.spans_mm(reach * camera.px_per_mm)
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
    return Polygon(points, void_name(void.place), clip=camera.view)


def _ring(frame: Frame, camera: Camera, picked: int | None, unit_px: float) -> list[Item]:
    i = index_of(frame, picked)
    if i is None:
        return []
    x, y = camera.point_px(float(frame.x_mm[i]), float(frame.y_mm[i]))
    radius = max(6.0 * unit_px, float(frame.radius_mm[i]) * camera.px_per_mm + 3.0 * unit_px)
    gap, width = radius * 0.45, max(2, round(2 * unit_px))
    corner = ((radius, gap), (radius, radius), (gap, radius))
    ring = (tuple((x + sx * u, y + sy * v) for u, v in corner) for sx in (-1, 1) for sy in (-1, 1))
    return [Polyline(points, "picked", width, clip=camera.view) for points in ring]


LETTER_PX = 6.5
"""Width of a small letter, a little generous, in layout pixels."""

LABEL_FROM_PX = 34
"""Narrowest stage that gets its name written, in layout pixels."""


def line_under(line_map: LineMap, camera: Camera, unit_px: float) -> list[Item]:
    """Return mat and stages, which lie under the cans."""
    view = camera.view
    items: list[Item] = []
    for i in range(len(line_map.stages)):
        box = _box(camera, line_map.bounds_mm[i], 0.0, line_map.bounds_mm[i + 1], line_map.mat_mm)
        if box.w > 0 and box.h > 0:
            items.append(Fill(box, "mat" if i % 2 == 0 else "mat tint"))
    ends = float(line_map.bounds_mm[0]), line_map.length_mm
    for y in (0.0, line_map.mat_mm):
        a, b = camera.point_px(ends[0], y), camera.point_px(ends[1], y)
        items.append(_clipped_line(a, b, "mat edge", max(1, round(unit_px)), view))
    return items


def line_over(
    line_map: LineMap, camera: Camera, unit_px: float, *, footprints: bool = True
) -> list[Item]:
    """Return what is drawn over the cans: footprints, headers, stage bounds, wires, brackets."""
    u0, u1, _, _ = camera.spans_mm()
    items: list[Item] = []
    for header in line_map.headers:
        reach = float(np.abs(header.outline_mm[:, 0]).max()) if len(header.outline_mm) else 0.0
        if u0 - reach <= header.x_mm <= u1 + reach:
            items += header_from_above(header, camera, unit_px, footprints=footprints)
    for bound in line_map.bounds_mm.tolist():
        if u0 <= bound <= u1:
            (x, top), (_, low) = (camera.point_px(bound, y) for y in (0.0, line_map.mat_mm))
            points = ((x, top - 10 * unit_px), (x, low + 10 * unit_px))
            items.append(Polyline(points, "bound", max(1, round(1.5 * unit_px)), clip=camera.view))
    return items + _wires(line_map, camera, unit_px) + _brackets(line_map, camera, unit_px)


def ruler(
    line_map: LineMap, camera: Camera, unit_px: float, name: str = "", *, chosen: bool = False
) -> list[Item]:
    """Return the strip over a plan view: stage names in their places, and where the view is cut.

    The camera is the plan's; the strip lies on the top of its view. A name stands at the left end,
    for a view among several; ``chosen`` marks the one that changes go to. Texts do not overlap; a
    stage too short for its name has its number.
    """
    view = camera.view
    height = round(RULER_PX * unit_px)
    items: list[Item] = [Fill(Box(view.x, view.y, view.w, height), "panel")]
    left = view.x
    if name:
        tag = Box(view.x, view.y, round((LETTER_PX * len(name) + 14) * unit_px), height)
        back, ink = ("chosen", "text") if chosen else ("panel head", "on dark")
        items += [Fill(tag, back), _text(name, tag, ink, unit_px)]
        left = tag.right
    for i, (stage, does) in enumerate(zip(line_map.stages, line_map.does, strict=True)):
        start, _ = camera.point_px(float(line_map.bounds_mm[i]), 0.0)
        end, _ = camera.point_px(float(line_map.bounds_mm[i + 1]), 0.0)
        near, far = max(left, math.ceil(start)), min(view.right, math.floor(end))
        if left <= start < view.right:
            line = ((start, view.y), (start, view.y + height))
            items.append(Polyline(line, "bound", max(1, round(unit_px)), clip=view))
        if far - near >= LABEL_FROM_PX * unit_px:
            box = Box(near, view.y, far - near, height)
            said = stage if does == stage else f"{stage}: {does}"
            room = box.w / (LETTER_PX * unit_px) - 2
            said = next((words for words in (said, stage) if len(words) <= room), f"{i + 1}")
            items.append(_text(said, box, "text", unit_px, "centre"))
    rule = ((view.x, view.y + height), (view.right, view.y + height))
    items.append(Polyline(rule, "rule", max(1, round(unit_px))))
    return items


def _text(text: str, box: Box, role: str, unit_px: float, align: str = "left") -> Text:
    return Text(text, box.inset(round(6 * unit_px), 0), role, "small", align)


def _wires(line_map: LineMap, camera: Camera, unit_px: float) -> list[Item]:
    u0, u1, _, _ = camera.spans_mm()
    u0, u1 = max(u0, float(line_map.bounds_mm[0])), min(u1, line_map.length_mm)
    low, high = np.searchsorted(line_map.station_mm, (u0, u1))
    high = min(int(high) + 1, line_map.station_mm.size)
    low = max(0, int(low) - 1)
    if high - low < 2:
        return []
    step = max(1, (high - low) // max(2, camera.view.w // 3))
    at = np.unique(np.append(np.arange(low, high, step), high - 1))
    width = max(2, round(2 * unit_px))
    items: list[Item] = []
    for face in (line_map.left_mm, line_map.right_mm):
        x, y = camera.to_px(np.clip(line_map.station_mm[at], u0, u1), face[at])
        points = tuple(zip(x.tolist(), y.tolist(), strict=True))
        items.append(Polyline(points, "wire", width, clip=camera.view))
    return items


def _brackets(line_map: LineMap, camera: Camera, unit_px: float) -> list[Item]:
    u0, u1, _, _ = camera.spans_mm()
    size = min(9.0 * unit_px, max(2.5 * unit_px, 26.0 * camera.px_per_mm))
    items: list[Item] = []
    for station, left, right in line_map.brackets_mm.tolist():
        if not u0 <= station <= u1:
            continue
        for face, out in ((left, -1.0), (right, 1.0)):
            x, y = camera.point_px(station, face)
            far = y + out * size
            points = ((x - size / 2, far), (x + size / 2, far), (x, y + out * unit_px))
            items.append(Polygon(points, "bracket", clip=camera.view))
    return items


def _box(camera: Camera, x0: float, y0: float, x1: float, y1: float) -> Box:
    left, top = camera.point_px(x0, y0)
    right, bottom = camera.point_px(x1, y1)
    view = camera.view
    near, high = max(view.x, math.floor(left)), max(view.y, math.floor(top))
    far, low = min(view.right, math.floor(right)), min(view.bottom, math.floor(bottom))
    return Box(near, high, max(0, far - near), max(0, low - high))


def _clipped_line(
    a: tuple[float, float], b: tuple[float, float], role: str, width: int, view: Box
) -> Polyline:
    near, far = max(a[0], view.x - 2.0), min(b[0], view.right + 2.0)
    return Polyline(((near, a[1]), (far, b[1])), role, width, clip=view)
