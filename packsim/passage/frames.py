"""Take a frame of the running pack, with every can's own lean and role, quickly enough to watch."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.compiled import kernel, run
from packsim.pack.neighbours import neighbour_lists
from packsim.passage.laid import SortedPack, laid_pack
from packsim.passage.record import NOT_ASKED, ROLES, Frame
from packsim.passage.state import State
from packsim.passage.tipped import FLAT, GONE
from packsim.passage.track import Track
from packsim.tipping.lean import NEAR_REL
from packsim.tipping.worst_direction import free_travels_mm, on_wire_rad
from packsim.width.guide_faces import GRID_MM

DIRECTIONS = 24
"""Directions asked. Against 360 directions the greatest lean comes out short by a
tenth on average (see tests/passage/test_frames.py); twice as many take twice the time."""

_TURN = 2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS
_GRID = np.cos(_TURN), np.sin(_TURN)

SNUG_MM = 0.1
"""A can whose top can move less than this is snug: five times the overlap tolerance."""


EVERYWHERE = -math.inf, math.inf
"""The stretch that every can is in."""


def frame_of(state: State, track: Track, stretch_mm: tuple[float, float] = EVERYWHERE) -> Frame:
    """Return what there is to see of the pack now.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.
    stretch_mm : tuple of float
        Stations between which leans are asked for [mm]; in a periodic slice all are given.

    Returns
    -------
    Frame
        With lean and role of every can asked for, neighbours taken as upright and rigid; of others
        only the tipped ones have a role.
    """
    # what a top can meet: a can or the far end of one that lies, as it stands or leans out itself
    reach = 2.0 * (track.diameter_mm + track.standing.height_mm)
    station = state.station_mm
    near = (station >= stretch_mm[0] - reach) & (station <= stretch_mm[1] + reach)
    if state.period_mm or near.all():
        return _all_asked(state, track)
    part, at = _all_asked(state.keep(near), track), np.flatnonzero(near)
    known = (station[at] >= stretch_mm[0]) & (station[at] <= stretch_mm[1])
    lean, direction = np.full(len(state), np.nan, np.float32), state.fell_rad.astype(np.float32)
    role = np.where(state.tipped, ROLES.index("tipped"), NOT_ASKED).astype(np.uint8)
    for full, some in ((lean, part.lean_rad), (direction, part.direction_rad), (role, part.role)):
        full[at[known]] = some[known]
    return replace(
        part,
        x_mm=station.astype(np.float32),
        y_mm=state.y_mm.astype(np.float32),
        radius_mm=state.radius_mm.astype(np.float32),
        lean_rad=lean,
        direction_rad=direction,
        role=role,
        id=state.id.astype(np.uint32),
    )


def _all_asked(state: State, track: Track) -> Frame:
    station = state.station_mm
    low, high, inside = track.limits_mm(station, state.radius_mm)
    # the cell that the entry cuts counts as before it; a can past the entry has its guides
    inside[(inside < 0) & (station >= 0.0) & (station < GRID_MM)] = 0
    travel, direction = own_travel_mm(state, track, inside, low, high)
    stage = np.maximum(inside, 0)
    lean = np.arcsin(np.minimum(travel / track.standing.height_mm, 1.0))
    np.minimum(lean, track.standing.meeting_rad.take(stage), out=lean)
    direction = np.where(state.tipped, state.fell_rad, direction)
    balance, _ = track.standing.load.at(station, state.y_mm, direction)
    role = roles_of(lean, balance, track.standing.height_mm, track.standing.factor)
    role[state.tipped] = ROLES.index("tipped")
    lean[state.tipped] = np.minimum(state.down_rad[state.tipped], FLAT)
    sinking = np.flatnonzero(state.down_rad == FLAT)
    lean[sinking] = np.maximum(_propped_rad(state.span_mm[sinking], track), balance[sinking])
    x = np.mod(state.x_mm, state.period_mm) if state.period_mm else state.station_mm
    return Frame(
        time_s=state.time_s,
        travel_mm=state.travel_mm,
        x_mm=x.astype(np.float32),
        y_mm=state.y_mm.astype(np.float32),
        radius_mm=state.radius_mm.astype(np.float32),
        lean_rad=lean.astype(np.float32),
        direction_rad=direction.astype(np.float32),
        role=role,
        id=state.id.astype(np.uint32),
        station_mm=state.travel_mm if state.period_mm else 0.0,
    )


def _propped_rad(span_mm: Floats, track: Track) -> Floats:
    """Lean θ at which a lying can takes up D cos θ + H sin θ of the mat; flat at its whole span."""
    diameter, height = track.diameter_mm, track.standing.height_mm
    share = np.minimum((diameter + span_mm) / math.hypot(diameter, height), 1.0)
    lean = np.maximum(math.atan2(height, diameter) - np.arccos(share), 0.0)
    return np.where(span_mm >= height - diameter - 1e-6, FLAT, lean)


def roles_of(
    lean_rad: Floats, balance_rad: Floats | float, height_mm: float, factor: float
) -> NDArray[np.uint8]:
    """Return each standing can's role by its lean.

    Parameters
    ----------
    lean_rad, balance_rad : ndarray, shape (n,)
        Greatest own lean, and balance angle of each can where it is, in that direction [rad].
    height_mm : float
        Can height [mm].
    factor : float
        Safety factor that parts cans with some room from those with much [-].

    Returns
    -------
    ndarray of uint8, shape (n,)
        Index into `ROLES`, 0 to 3.
    """
    role = (lean_rad > SNUG_MM / height_mm).astype(np.uint8)
    role += lean_rad > balance_rad / factor
    role += lean_rad >= balance_rad
    return role


def own_travel_mm(
    state: State, track: Track, stage: Ints, low_mm: Floats, high_mm: Floats
) -> tuple[Floats, Floats]:
    """How far each can's top can move while its neighbours stand, and where to.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.
    stage : ndarray of int64, shape (n,)
        Stage of each can, −1 outside.
    low_mm, high_mm : ndarray, shape (n,)
        y-range of the centres between the guides [mm].

    Returns
    -------
    travel_mm, direction_rad : ndarray, shape (n,)
        Greatest free travel over `DIRECTIONS` [mm] and its bearing [rad]; the can height where
        nothing stops it.

    Notes
    -----
    As in `packsim.tipping.lean.own_lean`, on a grid of directions: neighbours within 0.7 diameters
    first, and cans of the line that see past those asked again with everybody in reach of their
    tops. Beyond the ends of the line the pack goes on unseen, so there they are not.
    """
    gaps = state.y_mm - low_mm, high_mm - state.y_mm
    near = min(NEAR_REL * track.diameter_mm, track.standing.height_mm)
    there = state.down_rad != GONE
    best, row, leaning = np.zeros(len(state)), np.zeros(len(state), np.int64), ~there
    best[there], row[there], leaning[there] = _greatest(state, track, stage, gaps, near, there)
    again = (best > near) & ~state.tipped & (stage >= 0)
    if again.any():
        far = _greatest(state, track, stage, gaps, track.standing.height_mm, again)
        best[again], row[again] = far[0], far[1]
        leaning[again] |= far[2]
    beside = np.flatnonzero(leaning & ~state.tipped & (stage >= 0))
    if beside.size:
        laid = laid_pack(state, track.standing.height_mm, low_mm, high_mm)
        free = _beside_tipped(laid, beside, track.standing.height_mm)
        best[beside], row[beside] = _stopped(free, track, stage[beside], *(g[beside] for g in gaps))
    return best, _TURN.take(row)


def _greatest(
    state: State,
    track: Track,
    stage: Ints,
    gaps: tuple[Floats, Floats],
    gap_mm: float,
    asked: Bools,
) -> tuple[Floats, Ints, Bools]:
    """Greatest travel of the cans asked, its direction, and whether a tipped can is in reach."""
    place, owner = state.discs_mm()
    of = np.append(np.arange(len(state)), owner)
    there = np.flatnonzero(state.down_rad[of] != GONE)
    of, place = of[there], place[there]
    points = np.column_stack((place.real, place.imag))
    wanted = (there < len(state)) & asked[of]
    cutoff = 2.0 * float(state.radius_mm.max(initial=0.0)) + gap_mm
    indptr, other, x, y = neighbour_lists(points, cutoff, state.period_mm or None, wanted)
    cans = np.flatnonzero(wanted)
    total = np.repeat(state.radius_mm[of], np.diff(indptr)) + state.radius_mm[of[other]]
    lists = cans, indptr, x, y, x * x + y * y - total * total
    travel = run(free_travels_mm, other.size * DIRECTIONS, *lists, 0.0, *_GRID)
    down = np.append(0, np.cumsum(state.tipped[of[other]]))[indptr]
    which = of[cans]
    best, row = _stopped(travel, track, stage[which], *(gap[which] for gap in gaps))
    return best, row, down[cans + 1] > down[cans]


def _beside_tipped(laid: SortedPack, cans: Ints, height: float) -> Floats:
    """Free travel of some cans in every direction, tipped ones as they lie; shape (m, k)."""
    every, turn = np.repeat(cans, DIRECTIONS), np.tile(_GRID[0] + 1j * _GRID[1], cans.size)
    free, _ = laid.free_travel_mm(every, turn, np.full(every.size, height))
    return free.reshape(cans.size, DIRECTIONS)


def _stopped(
    travel: Floats, track: Track, stage: Ints, left: Floats, right: Floats
) -> tuple[Floats, Ints]:
    """Greatest travel of each can, where the guide wires stop it too, and its direction."""
    standing = track.standing
    given = travel, stage, left, right, standing.wire_rows(), standing.height_mm, _GRID[1]
    found: tuple[Floats, Ints] = run(farthest, travel.size, *given)
    return found


@kernel
def farthest(
    travel: Floats,
    stage: Sequence[int],
    left: Sequence[float],
    right: Sequence[float],
    wires: Floats,
    height: float,
    across: Sequence[float],
) -> tuple[Floats, Ints]:
    """Greatest travel of tops and its direction, neighbours as given and the wires of a stage."""
    best, row = np.empty(len(stage)), np.zeros(len(stage), np.int64)
    for i in range(len(stage)):
        most = -1.0
        for k in range(len(across)):
            free = min(max(travel[i, k], 0.0), height)
            gap, steep = (right[i], across[k]) if across[k] > 0.0 else (left[i], -across[k])
            # a wire stops a top no sooner than after the gap
            if stage[i] >= 0 and free * steep > max(gap, 0.0) and free > most:
                lean = on_wire_rad(gap, steep, wires[stage[i]], height)
                free = min(free, height * math.sin(lean))
            if free > most:
                most, row[i] = free, k
        best[i] = most
    return best, row
