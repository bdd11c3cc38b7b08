"""How a header is drawn from above: its pipe, its nozzles, and the footprints of their sprays."""

import numpy as np

from viewer.line import HeaderMap
from viewer.screen.camera import Camera
from viewer.screen.drawing import Item, Polygon, Polyline
from viewer.screen.layout import Box

FOOTPRINT_FROM = 0.12
"""Scale from which footprints can be told apart [px/mm]."""


def header_from_above(
    header: HeaderMap, camera: Camera, unit_px: float, *, footprints: bool
) -> list[Item]:
    """Return a header: outlines of its footprints, its pipe, and its nozzles where there is room.

    What stands below the mat is dashed. ``unit_px`` is screen pixels per layout pixel.
    """
    view, thin = camera.view, max(1, round(unit_px))
    below = header.side == "below"
    x, first = camera.point_px(header.x_mm, float(header.y_mm[0]))
    last = camera.point_px(header.x_mm, float(header.y_mm[-1]))[1]
    items: list[Item] = []
    if footprints and camera.px_per_mm >= FOOTPRINT_FROM and len(header.outline_mm):
        small = float(header.outline_mm.max()) * camera.px_per_mm < 24.0
        outline = header.outline_mm[:: 3 if small else 1]
        ys = header.y_mm[:, None] + outline[None, :, 1]
        xs = np.broadcast_to(header.x_mm + outline[:, 0], ys.shape)
        px, py = camera.to_px(xs, ys)
        for row_x, row_y in zip(px.tolist(), py.tolist(), strict=True):
            points = tuple(zip(row_x, row_y, strict=True))
            items.append(
                Polygon(points, "footprint", filled=False, clip=view, width_px=thin, dashed=below)
            )
    reach = 6 * unit_px
    width = max(1, round((1.0 if below else 2.0) * unit_px))
    dash = round(5 * unit_px) if below else 0
    items.append(
        Polyline(((x, first - reach), (x, last + reach)), "header", width, dash, clip=view)
    )
    if camera.px_per_mm >= FOOTPRINT_FROM:
        steps = np.diff(header.y_mm, append=np.inf)
        size = min(3.5 * unit_px, 0.3 * float(steps.min()) * camera.px_per_mm)
        turn = _fan_turn(header)
        items += [_nozzle(x, y, size, view, turn) for y in _rows(header, camera)]
    return items


def _rows(header: HeaderMap, camera: Camera) -> list[float]:
    _, y = camera.to_px(np.full(header.y_mm.shape, header.x_mm), header.y_mm)
    return [float(v) for v in y if camera.view.y <= v <= camera.view.bottom]


def _fan_turn(header: HeaderMap) -> tuple[float, float] | None:
    """Return the direction of the wide side of a fan, along and across; None for a cone."""
    if header.pattern not in ("fan", "slot"):
        return None
    far = (
        header.outline_mm[np.argmax(np.hypot(*header.outline_mm.T))]
        if len(header.outline_mm)
        else np.array([0.0, 1.0])
    )
    along, across = (far / np.hypot(*far)).tolist()
    return along, across


def _nozzle(x: float, y: float, r: float, view: Box, turn: tuple[float, float] | None) -> Polygon:
    """Return the mark of a nozzle: a diamond for a cone, a bar along its spray for a fan."""
    if turn is None:
        return Polygon(((x - r, y), (x, y - r), (x + r, y), (x, y + r)), "nozzle", clip=view)
    (u, v), ends = turn, ((-1.6, -0.45), (1.6, -0.45), (1.6, 0.45), (-1.6, 0.45))
    bar = tuple((x + r * (a * u - b * v), y + r * (a * v + b * u)) for a, b in ends)
    return Polygon(bar, "nozzle", clip=view)
