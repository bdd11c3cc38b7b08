"""What stands in the side view: the can looked at, those around it, the guides, all in one plane.

Places along the plane are counted from the axis of the can looked at, to the right of the picture.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.can import Can
from packsim.line import Stage
from packsim.passage import ROLES
from viewer.session.source import Source
from viewer.session.tips import TipShow
from viewer.views.answers import bearing
from viewer.views.down import DOWN, ways_of

AROUND_RADII = 9.0
"""Cans whose centres are this many radii off along the plane are still drawn."""

STEEP = 0.3
"""A plane nearer to the run of the guides than this sine shows them as lines behind."""


@dataclass(frozen=True, slots=True)
class Body:
    """One can in section: the rim it turns about [mm], its lean to the right [rad], its state."""

    pivot_mm: float
    lean_rad: float
    state: str


@dataclass(frozen=True, slots=True)
class SideScene:
    """Everything in the side view.

    ``body`` is the can looked at, None where it is gone; ``toward`` is +1 where it leans to the
    right, −1 to the left. ``room_rad`` is how far it could lean, ``balance_rad`` its tip angle
    where it stands, in that direction [rad]. ``faces_mm`` are guide faces that the plane cuts, with
    the side their guide is on; ``title`` says how one looks, along ``plane_rad`` from
    travel to the right guide [rad].
    """

    can: Can
    stage: Stage
    water: float
    body: Body | None
    others: tuple[Body, ...]
    toward: float
    room_rad: float
    balance_rad: float
    faces_mm: tuple[tuple[float, float], ...]
    title: str
    plane_rad: float


Leans = Mapping[int, tuple[float, float]]
"""How far cans lean that rock, and in which direction, by their numbers [rad]."""


def scene_now(source: Source, i: int, leans: Leans) -> SideScene:
    """Return what stands around a can of the frame shown, in the plane nearer to its lean.

    ``leans`` are those of cans that rock.
    """
    frame = source.frame
    direction, lean = float(frame.direction_rad[i]), float(frame.lean_rad[i])
    across = abs(math.sin(direction)) >= 0.5 or lean < 1e-3
    plane = math.pi / 2.0 if across else 0.0
    seen = "looking downstream" if across else "from the right guide"
    scene = _scene(source, i, plane, seen)
    along, near = _around(source, i, plane)
    ways = ways_of(source) if (frame.role[near] == DOWN).any() or frame.role[i] == DOWN else {}
    others = [_body(source, k, plane, float(along[k]), ways, leans) for k in near.tolist()]
    there = tuple(body for body in others if body is not None)
    return replace(scene, body=_body(source, i, plane, 0.0, ways, leans), others=there)


def scene_of_tip(source: Source, i: int, show: TipShow) -> SideScene:
    """Return what stands in the plane in which a can goes over; it falls to the right.

    Those that lean with it are drawn head on, so that the gaps between them are those that count.
    """
    event, fall = show.fall.event, show.fall
    scene = _scene(
        source,
        i,
        event.direction_rad,
        f"square to the fall: {bearing(event.direction_rad)}",
    )
    leans = fall.leans_rad(max(show.shown_s, 0.0)).tolist()
    radius = scene.can.diameter_mm / 2.0
    going = "could go over" if show.shown_s >= 0.0 else ROLES[int(source.frame.role[i])]
    state = "tipped" if leans[0] >= fall.leaners.balance_rad[0] else going
    before = fall.leaners.before_mm + (show.gap_mm - event.gap_mm if len(leans) > 1 else 0.0)
    others = [
        Body(2.0 * radius * k + radius + float(before[k]), leans[k], "some room")
        for k in range(1, len(leans))
    ]
    wall = min((u - radius for u, side in scene.faces_mm if side > 0.0), default=math.inf)
    if len(leans) == 1 and show.gap_mm < wall - 0.5:
        others.append(Body(3.0 * radius + show.gap_mm, 0.0, "some room"))
    along, near = _around(source, i, event.direction_rad)
    behind = [k for k in near.tolist() if along[k] < 0.0 and source.frame.role[k] != DOWN]
    others += [Body(float(along[k]) + radius, 0.0, ROLES[source.frame.role[k]]) for k in behind]
    balance = float(fall.leaners.balance_rad[0])
    body = Body(radius, leans[0], state)
    return replace(scene, toward=1.0, balance_rad=balance, body=body, others=tuple(others))


def _scene(source: Source, i: int, plane: float, title: str) -> SideScene:
    frame = source.frame
    x, y = float(frame.x_mm[i]), float(frame.y_mm[i])
    at = source.line_map.stage_at(x)
    stage, water = source.loaded.scenario.stages[at], source.track.standing.water_in_dome[at]
    sine = math.sin(plane)
    faces: tuple[tuple[float, float], ...] = ()
    if abs(sine) >= STEEP:
        faces = tuple(
            ((face - y) / sine, side if sine > 0.0 else -side)
            for face, side in zip(source.line_map.faces_at(x), (-1.0, 1.0), strict=True)
        )
    part = math.cos(float(frame.direction_rad[i]) - plane)
    return SideScene(
        can=source.loaded.can,
        stage=stage,
        water=water,
        body=None,
        others=(),
        toward=1.0 if part >= 0.0 else -1.0,
        room_rad=float(frame.lean_rad[i]),
        balance_rad=source.tip_angle_rad(i),
        faces_mm=faces,
        title=title,
        plane_rad=plane,
    )


def _around(source: Source, i: int, plane: float) -> tuple[Floats, Ints]:
    """Places of all cans along the plane [mm], and which of them it cuts near that can."""
    frame = source.frame
    dx, dy = frame.x_mm - frame.x_mm[i], frame.y_mm - frame.y_mm[i]
    along = dx * math.cos(plane) + dy * math.sin(plane)
    off = dy * math.cos(plane) - dx * math.sin(plane)
    radius = float(frame.radius_mm[i])
    there = (np.abs(along) < AROUND_RADII * radius) & (np.abs(off) < radius)
    there[i] = False
    return along, np.flatnonzero(there)


def _body(
    source: Source, i: int, plane: float, at: float, ways: dict[int, str], leans: Leans
) -> Body | None:
    """Return a can of the frame in section, None where it is gone."""
    frame, can = source.frame, source.loaded.can
    role, radius = int(frame.role[i]), can.diameter_mm / 2.0
    if role != DOWN:
        lean, direction = leans.get(int(frame.id[i]), (0.0, 0.0))
        turned = lean * math.cos(direction - plane)
        return Body(at + math.copysign(radius, turned), turned, ROLES[role])
    way = ways.get(int(frame.id[i]), "leans")
    if way == "leaves a hole":
        return None
    # a recording of before leans were kept has none: such a can lies
    lean = float(frame.lean_rad[i]) or math.pi / 2.0
    side = 1.0 if math.cos(float(frame.direction_rad[i]) - plane) >= 0.0 else -1.0
    foot = radius
    if way == "lies across":  # its place is the middle of the mat it takes up
        foot = (can.diameter_mm * math.cos(lean) - can.height_mm * math.sin(lean)) / 2.0
    return Body(at + side * foot, side * lean, ROLES[DOWN])
