"""Forces in the side view: weight, sprays where they push, the rim a can turns on, both angles."""

import math

import numpy as np

from packsim.arrays import Floats
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box
from viewer.views.side_view import SideView

WEIGHT_MM = 34.0
"""Length of the arrow of a can's weight; sprays are in its scale, up to twice that [mm]."""

LEAST_N = 0.005
"""A spray that pushes less is not drawn: a twentieth of a can's weight [N]."""


def forces(view: SideView, push: Floats, direction_rad: float) -> None:
    """Add weight, sprays, the rim, and how far the centre of gravity must go to stand over it.

    ``push`` are the sprays from above and from below, shape (2, 3), see
    `viewer.session.tips.push_on`; ``direction_rad`` is that of the picture's plane.
    """
    scene, w, body = view.scene, view.w, view.scene.body
    if body is None:
        return
    _angles(view)
    ((u, v),) = view.place(body, (view.section(body)[0].centre_of_gravity_mm,))
    ends = view.camera.point_px(u, v), view.camera.point_px(u, v - WEIGHT_MM)
    arrow(w, *ends, f"on {body.state}", view.clip)
    top = max(height for _, height in view.section(body)[0].corners)
    radius = scene.can.diameter_mm / 2.0
    for above, (down, along, across) in zip((True, False), push.tolist(), strict=True):
        if abs(down) < LEAST_N:
            continue
        off = (along * math.cos(direction_rad) + across * math.sin(direction_rad)) / down
        off = min(max(off, -1.2 * radius), 1.2 * radius)
        long = min(2.0, abs(down) / view.stance.weight_N) * WEIGHT_MM
        foot = top + 2.0 if above else -4.0
        near, far = view.camera.point_px(off, foot), view.camera.point_px(off, foot + long)
        arrow(w, *((far, near) if above else (near, far)), "header", view.clip)


def _angles(view: SideView) -> None:
    """Add the way of the centre of gravity up to over the rim, where weight alone lets it go."""
    can, stance, toward = view.scene.can, view.stance, view.scene.toward
    if view.scene.body is None or view.scene.body.state == "tipped":
        return
    rim, rest = toward * can.diameter_mm / 2.0, stance.balance_angle_rad
    turns = np.linspace(0.0, rest, 12).tolist()
    way = tuple(
        (rim - toward * stance.arm_mm * math.sin(rest - t), stance.arm_mm * math.cos(rest - t))
        for t in turns
    )
    view.line(way, "bound", 1)
    view.line(((rim, 0.0), (rim, stance.arm_mm + 6.0)), "bound", 1, 3)
    view.area(((rim, 0.0), (rim - 4.0, -5.0), (rim + 4.0, -5.0)), "alarm")


def arrow(
    w: Writer, tail: tuple[float, float], head: tuple[float, float], role: str, clip: Box
) -> None:
    """Add an arrow between two points of the screen."""
    dx, dy = head[0] - tail[0], head[1] - tail[1]
    long = math.hypot(dx, dy)
    if long < 1.0:
        return
    ux, uy, wide = dx / long, dy / long, min(w.px(5), long / 2.0)
    back = head[0] - 2.0 * wide * ux, head[1] - 2.0 * wide * uy
    barbs = ((back[0] - wide * uy, back[1] + wide * ux), (back[0] + wide * uy, back[1] - wide * ux))
    w.add(
        Polyline((tail, back), role, max(2, w.px(2.5)), clip=clip),
        Polygon((head, *barbs), role, clip=clip),
    )
