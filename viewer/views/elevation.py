"""The side elevation of one can, to scale: wires, lean, balance, centre of gravity, pool, mat."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from packsim.answers import Answer
from packsim.can import Can, Stance, cap_depth_mm
from packsim.line import Stage
from packsim.passage import Frame
from packsim.report.words.display import Display
from viewer.screen.camera import Box, Camera
from viewer.screen.drawing import Line, Scene, Shape
from viewer.screen.panel_writer import Writer
from viewer.views.plan import index_of

if TYPE_CHECKING:
    from viewer.session.session import Session

__all__ = ["Side", "elevation_panel", "side_of"]

_SHOW = Display("metric")

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Side:
    """What the elevation shows, in its own plane.

    Parameters
    ----------
    across : bool
        True for the plane across the mat, seen downstream; False for the one along travel.
    at_mm : float
        Place of the can in that plane: from the mat's left edge, or along the line [mm].
    lean_rad : float
        Lean it has room for [rad].
    toward : float
        +1 when it leans to the right of the picture, −1 to the left.
    lies : bool
        Whether it has tipped.
    neighbours_mm : tuple of float
        Centres of the cans beside it in the plane [mm].
    faces_mm : tuple of float
        Left and right guide face; used across only [mm].
    """

    across: bool
    at_mm: float
    lean_rad: float
    toward: float
    lies: bool
    neighbours_mm: tuple[float, ...]
    faces_mm: tuple[float, float]


def side_of(frame: Frame, index: int, faces_mm: tuple[float, float]) -> Side:
    """Choose the plane nearer to the can's lean and gather its neighbours there.

    Parameters
    ----------
    frame : Frame
        The cans.
    index : int
        The can's place in the frame's arrays.
    faces_mm : tuple of float
        Guide faces at the can [mm].

    Returns
    -------
    Side
        Cans count as beside it when their centres are within a radius of its plane.
    """
    direction, lean = float(frame.direction_rad[index]), float(frame.lean_rad[index])
    across = abs(math.sin(direction)) >= 0.5 or lean < 1e-3
    main, other = (frame.y_mm, frame.x_mm) if across else (frame.x_mm, frame.y_mm)
    at, off = float(main[index]), float(other[index])
    radius = float(frame.radius_mm[index])
    near = (np.abs(other - off) < radius) & (np.abs(main - at) < 7.0 * radius)
    near[index] = False
    part = math.sin(direction) if across else math.cos(direction)
    return Side(
        across,
        at,
        lean,
        1.0 if part >= 0.0 else -1.0,
        int(frame.role[index]) == 4,
        tuple(np.sort(main[near]).astype(float).tolist()),
        faces_mm,
    )


def elevation_panel(session: Session) -> Scene:
    """Show the elevation of the picked can, or of the worst one in the chosen stage."""
    layout, pack = session.layout, session.pack
    w = Writer(layout.scale)
    number = session.shown_can(pack)
    frame = pack.feed.frame
    i = index_of(frame, number)
    if i is None:
        w.panel(layout.elevation, "Side view: no can here")
        return w.scene
    x = float(frame.x_mm[i])
    picture, setting = pack.feed.picture, pack.feed.setting
    side = side_of(frame, i, picture.faces_at(x))
    index = picture.stage_at(x)
    can = setting.scenario.size(setting.size)
    seen = "looking downstream" if side.across else "from the right guide"
    body = w.panel(layout.elevation, f"Side view, to scale, {seen}")
    answer = pack.feed.answers[index]
    balance = answer.tipping.balance_angle_rad if isinstance(answer, Answer) else None
    _draw(w, body, side, can, setting.scenario.stages[index], balance)
    return w.scene


def _draw(
    w: Writer, body: Box, side: Side, can: Can, stage: Stage, balance_rad: float | None
) -> None:
    stance = can.stance(stage.pool_fraction)
    scene_box = Box(body.x, body.y, body.w - w.px(106), body.h)
    top = max(can.height_mm * 1.12, (stage.hold_down_mm or 0.0) * 1.02)
    scale = min(scene_box.w / (3.1 * can.diameter_mm), scene_box.h / (top + 9.0))
    camera = Camera(side.at_mm, 0.0, scale, scene_box, up=True)
    camera = camera.centred(side.at_mm, scene_box.h / 2.0 / scale - 8.0)
    clip = scene_box
    _mat(w, camera, clip)
    for centre in side.neighbours_mm:
        w.add(_outline(camera, _upright(centre, stance), "neighbour", clip, w.px(1)))
    _guides(w, camera, side, stage, clip)
    if stage.hold_down_mm is not None:
        _level(w, camera, stage.hold_down_mm, "hold-down", clip, 0)
    _can(w, camera, side, can, stance, clip)
    _pool(w, camera, side, can, stage.pool_fraction, clip)
    _angles(w, camera, side, stance, balance_rad, clip)
    keys = Box(body.right - w.px(100), body.y, w.px(100), body.h)
    _legend(w, keys, side, stance, stage, balance_rad)


def _mat(w: Writer, camera: Camera, clip: Box) -> None:
    u0, u1, _, _ = camera.spans_mm()
    corners = ((u0, 0.0), (u1, 0.0), (u1, -5.0), (u0, -5.0))
    w.add(Shape(tuple(camera.point_px(*c) for c in corners), "mat edge", clip=clip))


def _guides(w: Writer, camera: Camera, side: Side, stage: Stage, clip: Box) -> None:
    """Wires as they are cut: round, outside the face; along travel they are lines behind."""
    heights = stage.guides.wires.heights_mm
    if not side.across:
        for height in heights:
            _level(w, camera, height, "wire", clip, w.px(4))
        return
    for face, out in ((side.faces_mm[0], -1.0), (side.faces_mm[1], 1.0)):
        for height in heights:
            ring = [
                camera.point_px(face + out * 2.5 + 2.5 * math.cos(t), height + 2.5 * math.sin(t))
                for t in np.linspace(0.0, 2.0 * math.pi, 16, endpoint=False).tolist()
            ]
            w.add(Shape(tuple(ring), "wire", clip=clip))
        top = heights[-1] + 8.0
        a, b = camera.point_px(face + out * 6.0, 0.0), camera.point_px(face + out * 6.0, top)
        w.add(Line((a, b), "bracket", max(2, w.px(2)), clip=clip))


def _level(w: Writer, camera: Camera, height: float, role: str, clip: Box, dash: int) -> None:
    u0, u1, _, _ = camera.spans_mm()
    points = camera.point_px(u0, height), camera.point_px(u1, height)
    w.add(Line(points, role, max(1, w.px(1.5)), dash, clip))


def _upright(centre: float, stance: Stance) -> Points:
    r, h = stance.radius_mm, stance.height_mm
    return ((centre - r, 0.0), (centre - r, h), (centre + r, h), (centre + r, 0.0))


def _turned(points: Points, pivot: float, angle_rad: float) -> Points:
    """Turn about the pivot on the mat, to the right for a positive angle."""
    sin, cos = math.sin(angle_rad), math.cos(angle_rad)
    return tuple(
        (pivot + (u - pivot) * cos + v * sin, v * cos - (u - pivot) * sin) for u, v in points
    )


def _outline(camera: Camera, points: Points, role: str, clip: Box, width: int) -> Shape:
    corners = tuple(camera.point_px(*point) for point in points)
    return Shape(corners, role, filled=False, width_px=max(1, width), clip=clip)


def _can(w: Writer, camera: Camera, side: Side, can: Can, stance: Stance, clip: Box) -> None:
    body = _upright(side.at_mm, stance)
    pivot = side.at_mm + side.toward * stance.radius_mm
    corners = tuple(camera.point_px(*point) for point in body)
    w.add(Shape(corners, "button", alpha=150, clip=clip))
    if side.lean_rad > 1e-3 or side.lies:
        angle = math.pi / 2.0 if side.lies else min(side.lean_rad, math.pi / 2.0)
        leaning = _turned(body, pivot, side.toward * angle)
        w.add(_outline(camera, leaning, "lean", clip, w.px(2)))
    w.add(_outline(camera, body, "can line", clip, w.px(2)))
    dome = _cap(side.at_mm, can.height_mm, can.dome_depth_mm, can.dome_rim_radius_mm)
    w.add(Line(tuple(camera.point_px(*p) for p in dome), "can line", max(1, w.px(1)), clip=clip))


def _cap(centre: float, height: float, depth: float, rim: float) -> Points:
    """Return the recess in the base, which is on top: a circular arc."""
    if depth <= 0.0 or rim <= 0.0:
        return ()
    sphere = (rim * rim + depth * depth) / (2.0 * depth)
    us = np.linspace(-rim, rim, 15)
    vs = height - depth + sphere - np.sqrt(sphere**2 - us**2)
    return tuple((centre + u, v) for u, v in zip(us.tolist(), vs.tolist(), strict=True))


def _pool(w: Writer, camera: Camera, side: Side, can: Can, share: float, clip: Box) -> None:
    if share <= 0.0 or can.dome_depth_mm <= 0.0:
        return
    depth, rim = can.dome_depth_mm, can.dome_rim_radius_mm
    sphere = (rim * rim + depth * depth) / (2.0 * depth)
    level = cap_depth_mm(share * can.dome_volume_mm3, sphere)
    wide = math.sqrt(max(0.0, sphere**2 - (sphere - level) ** 2))
    arc = _cap(side.at_mm, can.height_mm - depth + level, level, wide)
    if len(arc) >= 3:
        w.add(Shape(tuple(camera.point_px(*p) for p in arc), "pool", clip=clip))


def _angles(
    w: Writer, camera: Camera, side: Side, stance: Stance, balance_rad: float | None, clip: Box
) -> None:
    """Centre of gravity, and the line it stands on when the can is at its balance point."""
    cg = camera.point_px(side.at_mm, stance.cg_mm)
    r = w.px(4)
    w.add(
        Line(
            ((cg[0] - 2 * r, cg[1]), (cg[0] + 2 * r, cg[1])), "can line", max(1, w.px(1)), 0, clip
        ),
        Line(
            ((cg[0], cg[1] - 2 * r), (cg[0], cg[1] + 2 * r)), "can line", max(1, w.px(1)), 0, clip
        ),
    )
    if balance_rad is None or side.lies:
        return
    pivot = side.at_mm + side.toward * stance.radius_mm
    at_balance = _turned(_upright(side.at_mm, stance), pivot, side.toward * balance_rad)
    corners = tuple(camera.point_px(*point) for point in at_balance)
    w.add(Line((*corners, corners[0]), "balance", max(1, w.px(1.5)), w.px(4), clip))


def _legend(
    w: Writer, box: Box, side: Side, stance: Stance, stage: Stage, balance_rad: float | None
) -> None:
    lean = "lies" if side.lies else _SHOW.angle(side.lean_rad)
    wires = ", ".join(f"{h:g}" for h in reversed(stage.guides.wires.heights_mm))
    hold_down = "none" if stage.hold_down_mm is None else _SHOW.length(stage.hold_down_mm)
    rows = [
        ("room to lean", lean, "lean"),
        ("balance", "–" if balance_rad is None else _SHOW.angle(balance_rad), "balance"),
        ("c. of gravity at", _SHOW.length(stance.cg_mm), "can line"),
        ("wires at", f"{wires} mm", "wire"),
        ("hold-down at", hold_down, "hold-down"),
    ]
    line = box.h // (2 * len(rows))
    for i, (label, value, role) in enumerate(rows):
        y = box.y + 2 * i * line
        w.fill(Box(box.x, y + w.px(2), w.px(4), 2 * line - w.px(4)), role)
        w.text(label, Box(box.x + w.px(10), y, box.w - w.px(10), line), "quiet", "small")
        w.text(value, Box(box.x + w.px(10), y + line, box.w - w.px(10), line), "text", "small")
