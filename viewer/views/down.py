"""Tipped cans from above, as they lean or lie, and cans that turn about their rim."""

import math
from collections.abc import Mapping

import numpy as np

from packsim.passage import ROLES, Frame
from viewer.screen.camera import Camera
from viewer.screen.drawing import Item, Polygon
from viewer.screen.marks import state_mark
from viewer.session.source import Source

DOWN = ROLES.index("tipped")


def ways_of(source: Source) -> dict[int, str]:
    """Return what each tipped can does: as tipped cans do in the stage it tipped in."""
    stages = source.loaded.scenario.stages
    return {event.can: stages[event.stage].tipped for event in source.events}


SHAPE_FROM_PX = 4.0
"""Radius from which a tipped can is drawn as it is down; smaller ones are black discs [px]."""


def cans_down(
    frame: Frame,
    camera: Camera,
    ends_mm: tuple[float, float],
    height_mm: float,
    *,
    ways: Mapping[int, str],
    unit_px: float,
) -> list[Item]:
    """Return the tipped cans a camera sees between two stations as they lean or lie.

    A ring for one that left a hole; none that is too small to be told apart.
    """
    items: list[Item] = []
    u0, u1, v0, v1 = camera.spans_mm(height_mm * camera.px_per_mm)
    u0, u1 = max(u0, ends_mm[0]), min(u1, ends_mm[1])
    down = np.flatnonzero(frame.role == DOWN)
    x, y = frame.x_mm[down], frame.y_mm[down]
    down = down[(x >= u0) & (x <= u1) & (y >= v0) & (y <= v1)]
    for i in down.tolist():
        way, radius = ways.get(int(frame.id[i]), "leans"), float(frame.radius_mm[i])
        if radius * camera.px_per_mm < SHAPE_FROM_PX:
            continue
        if way == "leaves a hole":
            ring = tuple(_rim(frame, i, camera, (0.0, radius), 2.0 * math.pi))
            items.append(Polygon(ring, "tipped", filled=False, clip=camera.view, dashed=True))
            continue
        lean = float(frame.lean_rad[i]) or math.pi / 2.0  # older recordings keep no lean
        across = way == "lies across"  # its place is the middle of the mat it takes up
        back = radius * (1.0 - math.cos(lean)) + height_mm * math.sin(lean) / 2.0
        items += leaning_can(frame, i, camera, (lean, height_mm, -back if across else 0.0), unit_px)
    return items


def leaning_can(
    frame: Frame,
    i: int,
    camera: Camera,
    lean: tuple[float, float, float],
    unit_px: float,
    state: str = "tipped",
    direction_rad: float | None = None,
) -> list[Item]:
    """Return a can that turned about its front rim, from above: its wall, then its top.

    ``lean`` is its lean [rad], the can height and how far it is moved on [mm]; it leans as the
    frame says where no direction is given.
    """
    angle, height, on = lean
    turned = float(frame.direction_rad[i]) if direction_rad is None else direction_rad
    radius = float(frame.radius_mm[i])
    narrow, half = radius * math.cos(angle), math.pi / 2.0
    foot, top = on + radius - narrow, on + radius - narrow + height * math.sin(angle)
    wall = (
        *_rim(frame, i, camera, (foot, narrow), 2.0 * half, half, turned),
        *_rim(frame, i, camera, (top, narrow), 2.0 * half, -half, turned),
    )
    face = tuple(_rim(frame, i, camera, (top, narrow), 4.0 * half, 0.0, turned))
    thin, clip = max(1, round(unit_px)), camera.view
    x, y = float(frame.x_mm[i]), float(frame.y_mm[i])
    middle = camera.point_px(x + top * math.cos(turned), y + top * math.sin(turned))
    return [
        Polygon(wall, "neighbour", clip=clip),
        Polygon(face, state, clip=clip),
        Polygon(wall, "can line", filled=False, width_px=thin, clip=clip),
        Polygon(face, "can line", filled=False, width_px=thin, clip=clip),
        *state_mark(state, middle, 0.9 * narrow * camera.px_per_mm, turned, clip),
    ]


def _rim(
    frame: Frame,
    i: int,
    camera: Camera,
    ring: tuple[float, float],
    turn: float,
    first: float = 0.0,
    direction: float = 0.0,
) -> list[tuple[float, float]]:
    """Part of a rim on the screen: its middle along the direction and half its width there [mm]."""
    (middle, narrow), radius = ring, float(frame.radius_mm[i])
    x, y = float(frame.x_mm[i]), float(frame.y_mm[i])
    cos, sin = math.cos(direction), math.sin(direction)
    turns = (first + turn * k / 24.0 for k in range(25))
    points = ((middle + narrow * math.cos(t), radius * math.sin(t)) for t in turns)
    return [camera.point_px(x + u * cos - v * sin, y + u * sin + v * cos) for u, v in points]
