"""Take a frame of the running pack, with every can's own lean and role, quickly enough to watch."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from packsim.passage.record import ROLES, Frame
from packsim.passage.state import Near, State
from packsim.passage.tip import Scene, scene_of
from packsim.passage.track import Track
from packsim.setting.wire_lean import overhang_mm

__all__ = ["DIRECTIONS", "HELD_MM", "frame_of", "own_travel_mm", "roles_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DIRECTIONS = 12
"""Directions asked; an even number. Against 360 directions the greatest lean comes out short by a
twentieth on average (measured in tests/passage/test_look.py)."""

HELD_MM = 0.1
"""A can whose top can move less than this is held: five times the overlap tolerance."""


def frame_of(state: State, track: Track) -> Frame:
    """Return what there is to see of the pack now.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.

    Returns
    -------
    Frame
        With lean and role of every can, neighbours taken as upright and rigid.
    """
    cell = track.cell(state.station_mm)
    stage = np.clip(track.stage_at.take(cell), 0, None)
    travel, direction = own_travel_mm(state, track, stage)
    lean = np.arcsin(np.minimum(travel / track.standing.height_mm, 1.0))
    np.minimum(lean, track.standing.meeting_rad.take(stage), out=lean)
    role = roles_of(lean, track, stage)
    role[state.tipped] = ROLES.index("tipped")
    lean[state.tipped] = 0.0
    direction = np.where(state.tipped, state.fell_rad, direction)
    x = np.mod(state.x_mm, state.period_mm) if state.period_mm else state.station_mm
    return Frame(
        state.time_s,
        state.travel_mm,
        x.astype(np.float32),
        state.y_mm.astype(np.float32),
        state.radius_mm.astype(np.float32),
        lean.astype(np.float32),
        direction.astype(np.float32),
        role,
        state.id.astype(np.uint32),
        state.travel_mm if state.period_mm else 0.0,
    )


def roles_of(lean_rad: Floats, track: Track, stage: Ints) -> NDArray[np.uint8]:
    """Return each standing can's role by its lean.

    Parameters
    ----------
    lean_rad : ndarray, shape (n,)
        Greatest own lean [rad].
    track : Track
        The line.
    stage : ndarray of int64, shape (n,)
        Stage of each can.

    Returns
    -------
    ndarray of uint8, shape (n,)
        Index into `ROLES`, 0 to 3.
    """
    standing = track.standing
    balance = standing.balance_rad.take(stage)
    role = (lean_rad > HELD_MM / standing.height_mm).astype(np.uint8)
    role += lean_rad > balance / standing.factor
    role += lean_rad >= balance
    return role


def own_travel_mm(state: State, track: Track, stage: Ints) -> tuple[Floats, Floats]:
    """How far each can's top can move while its neighbours stand, and where to.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.
    stage : ndarray of int64, shape (n,)
        Stage of each can.

    Returns
    -------
    travel_mm, direction_rad : ndarray, shape (n,)
        Greatest free travel over `DIRECTIONS` [mm] and its bearing [rad]; the can height where
        nothing stops it.

    Notes
    -----
    A pair blocks both its cans alike: what the first can do along u, the second can along −u. So
    half of the directions are computed, once per pair. Cans that see past the listed pairs are
    asked again with everybody in reach of their tops.
    """
    station = state.station_mm
    low, high = track.limits_mm(station, state.radius_mm, track.cell(station))
    height = track.standing.height_mm
    travel = _by_pairs(state.near, state.place_mm, height)
    scene = scene_of(state.place_mm, state.radius_mm, low, high, state.period_mm)
    _stop_at_guides(travel, scene, track, stage)
    best = travel.max(axis=0)
    again = np.flatnonzero((best > state.near.skin_mm) & ~state.tipped)
    if again.size:
        travel[:, again] = _far(scene, again, height)
        _stop_at_guides(travel, scene, track, stage, again)
        best[again] = travel[:, again].max(axis=0)
    return best, travel.argmax(axis=0) * (2.0 * math.pi / DIRECTIONS)


def _by_pairs(near: Near, place: NDArray[np.complex128], height: float) -> Floats:
    """Free travel in every direction, listed pairs alone, shape (DIRECTIONS, n)."""
    half = DIRECTIONS // 2
    travel = np.full((DIRECTIONS, place.size), height)
    if near.first.size == 0:
        return travel
    vector = near.vectors_mm(place)
    square = near.sum_mm**2
    order = np.argsort(near.second, kind="stable")
    firsts, starts = np.unique(near.first, return_index=True)
    seconds, second_starts = np.unique(near.second[order], return_index=True)
    for k in range(half):
        angle = 2.0 * math.pi * k / DIRECTIONS
        along = vector.real * math.cos(angle) + vector.imag * math.sin(angle)
        aside = vector.imag * math.cos(angle) - vector.real * math.sin(angle)
        room = square - aside * aside
        free = np.abs(along)
        free -= np.sqrt(np.maximum(room, 0.0))
        np.maximum(free, 0.0, out=free)
        free[room <= 0.0] = height
        ahead = np.where(along > 0.0, free, height)
        behind = np.where(along > 0.0, height, free)
        for row, first, second in ((k, ahead, behind), (k + half, behind, ahead)):
            line = travel[row]
            line[firsts] = np.minimum.reduceat(first, starts)
            shortest = np.minimum.reduceat(second[order], second_starts)
            line[seconds] = np.minimum(line[seconds], shortest)
    np.minimum(travel, height, out=travel)
    return travel


def _far(scene: Scene, cans: Ints, height: float) -> Floats:
    """Free travel of some cans in every direction, everybody within a can height looked at."""
    travel = np.empty((DIRECTIONS, cans.size))
    reach = np.full(cans.size, height)
    for k in range(DIRECTIONS):
        direction = np.full(cans.size, np.exp(2j * math.pi * k / DIRECTIONS))
        free, _ = scene.free_travel_mm(cans, direction, reach)
        travel[k] = np.minimum(free, height)
    return travel


def _stop_at_guides(
    travel: Floats, scene: Scene, track: Track, stage: Ints, cans: Ints | None = None
) -> None:
    """Shorten the travel of cans that a guide wire stops first; changes ``travel``."""
    y = scene.place_mm.imag
    gap = np.minimum(y - scene.low_mm, scene.high_mm - y)
    if cans is None:  # a can further in than one diameter meets another can first
        cans = np.flatnonzero(gap < track.diameter_mm)
    across = np.sin(2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    rows = np.flatnonzero(np.abs(across) > 1e-9)
    across = across[rows, None]
    for k in np.unique(stage[cans]):
        here = cans[stage[cans] == k]
        right, left = scene.high_mm[here] - y[here], y[here] - scene.low_mm[here]
        out = np.maximum(np.where(across > 0.0, right, left), 0.0) / np.abs(across)
        stop = overhang_mm(out, track.standing.wires_mm[k], track.standing.height_mm)
        where = np.ix_(rows, here)
        travel[where] = np.minimum(travel[where], stop)
