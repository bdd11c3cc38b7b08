"""Take a frame of the running pack, with every can's own lean and role, quickly enough to watch."""

import math

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints, Places, Singles
from packsim.passage.laid import SortedPack, laid_pack
from packsim.passage.near import Near
from packsim.passage.record import ROLES, Frame
from packsim.passage.state import State
from packsim.passage.tipped import FLAT
from packsim.passage.track import Track
from packsim.tipping.wires import overhang_mm

DIRECTIONS = 24
"""Directions asked; an even number. Against 360 directions the greatest lean comes out short by a
fifteenth on average (see tests/passage/test_frames.py); twice as many take twice the time."""

_BLOCK = 2048
"""Cans looked around from at once, so that the arrays stay in a core's cache."""

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
    inside = track.stage_at.take(cell)
    travel, direction = own_travel_mm(state, track, inside)
    stage = np.maximum(inside, 0)
    lean = np.arcsin(np.minimum(travel / track.standing.height_mm, 1.0))
    np.minimum(lean, track.standing.meeting_rad.take(stage), out=lean)
    balance, _ = track.standing.load.at(state.station_mm, state.y_mm, direction)
    role = roles_of(lean, balance, track)
    role[state.tipped] = ROLES.index("tipped")
    lean[state.tipped] = np.minimum(state.down_rad[state.tipped], FLAT)
    direction = np.where(state.tipped, state.fell_rad, direction)
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


def roles_of(lean_rad: Floats, balance_rad: Floats, track: Track) -> NDArray[np.uint8]:
    """Return each standing can's role by its lean.

    Parameters
    ----------
    lean_rad, balance_rad : ndarray, shape (n,)
        Greatest own lean, and balance angle of each can where it is, in that direction [rad].
    track : Track
        The line.

    Returns
    -------
    ndarray of uint8, shape (n,)
        Index into `ROLES`, 0 to 3.
    """
    standing = track.standing
    role = (lean_rad > HELD_MM / standing.height_mm).astype(np.uint8)
    role += lean_rad > balance_rad / standing.factor
    role += lean_rad >= balance_rad
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
        Stage of each can, −1 outside.

    Returns
    -------
    travel_mm, direction_rad : ndarray, shape (n,)
        Greatest free travel over `DIRECTIONS` [mm] and its bearing [rad]; the can height where
        nothing stops it.

    Notes
    -----
    A pair blocks both its cans alike: what the first can do along u, the second can along −u. So
    half of the directions are computed, in single precision (1e-5 mm). Cans of the line that see
    past the listed pairs are asked again with everybody in reach of their tops; beyond the ends of
    the line the pack goes on unseen, so there they are not.
    """
    station = state.station_mm
    low, high = track.limits_mm(station, state.radius_mm, track.cell(station))
    height = track.standing.height_mm
    count = len(state)
    travel = np.ascontiguousarray(_by_pairs(state.near, state.discs_mm()[0], height)[:, :count])
    laid = laid_pack(state, height, low, high)
    gap = np.minimum(state.y_mm - low, high - state.y_mm)
    # elsewhere a listed can stops the top first, or the can is asked again
    beside = np.flatnonzero((gap < state.near.skin_mm) & (stage >= 0))
    _stop_at_guides(travel, laid, track, stage, beside)
    best, row = _greatest(travel)
    ask = best > state.near.skin_mm
    ask |= _beside_tipped(state)
    again = np.flatnonzero(ask & ~state.tipped & (stage >= 0))
    if again.size:
        far = _far(laid, again, height)
        travel[:, again] = far
        _stop_at_guides(travel, laid, track, stage, again)
        best[again], row[again] = _greatest(travel[:, again])
    bearing = row.astype(np.float64) * (2.0 * math.pi / DIRECTIONS)
    return best.astype(np.float64), bearing


def _beside_tipped(state: State) -> Bools:
    """Cans that could meet a tipped one, whose rim or side stands otherwise than a disc."""
    beside = np.zeros(len(state), dtype=np.bool_)
    if state.tipped.any():
        down = np.append(state.tipped, np.ones(state.discs_mm()[1].size, dtype=np.bool_))
        first, second = state.near.first, state.near.second
        either = np.concatenate((first[down[second]], second[down[first]]))
        beside[either[either < beside.size]] = True
    return beside


def _greatest(travel: Singles) -> tuple[Singles, Ints]:
    """Greatest of each column and its row; row by row, which is far quicker than argmax."""
    best, row = travel[0].copy(), np.zeros(travel.shape[1], dtype=np.int64)
    for k in range(1, travel.shape[0]):
        more = travel[k] > best
        row[more] = k
        np.maximum(best, travel[k], out=best)
    return best, row


def _by_pairs(near: Near, place: Places, height: float) -> Singles:
    """Free travel in every direction, listed pairs alone, shape (DIRECTIONS, n)."""
    travel = np.full((DIRECTIONS, place.size), height, dtype=np.float32)
    if near.first.size == 0:
        return travel
    x, y, square = _surroundings(near, place)
    for start in range(0, place.size, _BLOCK):
        cans = slice(start, start + _BLOCK)
        _look_around(travel[:, cans], x[:, cans], y[:, cans], square[:, cans], height)
    np.clip(travel, 0.0, height, out=travel)
    return travel


def _look_around(travel: Singles, x: Singles, y: Singles, square: Singles, height: float) -> None:
    """Fill in the free travel of some cans, opposite directions together."""
    half, tall = DIRECTIONS // 2, np.float32(height)
    for k in range(half):
        angle = 2.0 * math.pi * k / DIRECTIONS
        cos, sin = np.float32(math.cos(angle)), np.float32(math.sin(angle))
        along, aside = x * cos, y * cos
        along += y * sin
        aside -= x * sin
        room = square - aside * aside
        free = np.abs(along)
        free -= np.sqrt(np.maximum(room, 0))
        np.maximum(free, np.where(room > 0, np.float32(0), tall), out=free)
        ahead = along > 0
        travel[k] = np.where(ahead, free, tall).min(axis=0)
        travel[k + half] = np.where(ahead, tall, free).min(axis=0)


def _surroundings(near: Near, place: Places) -> tuple[Singles, Singles, Singles]:
    """Vectors to the neighbours and squared radius sums, shape (most neighbours, n).

    One row per neighbour lets the least be taken across rows, can beside can in memory. Empty
    places hold a neighbour far off.
    """
    vector = near.vectors_mm(place)
    owner = np.concatenate((near.first, near.second))
    order = np.argsort(owner, kind="stable")
    owner = owner[order]
    count = np.bincount(owner, minlength=place.size)
    slot = np.arange(owner.size) - (np.cumsum(count) - count)[owner]
    shape = (int(count.max()), place.size)
    x = np.full(shape, 1e6, dtype=np.float32)
    y, square = np.zeros(shape, dtype=np.float32), np.ones(shape, dtype=np.float32)
    both = np.concatenate((vector, -vector))[order]
    x[slot, owner], y[slot, owner] = both.real, both.imag
    square[slot, owner] = np.tile(near.sum_mm**2, 2)[order]
    return x, y, square


def _far(laid: SortedPack, cans: Ints, height: float) -> Floats:
    """Free travel of some cans in every direction, everybody within a can height looked at."""
    travel = np.empty((DIRECTIONS, cans.size))
    directions = np.exp(2j * math.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    for start in range(0, cans.size, _BLOCK // DIRECTIONS):
        some = cans[start : start + _BLOCK // DIRECTIONS]
        every, turn = np.tile(some, DIRECTIONS), np.repeat(directions, some.size)
        free, _ = laid.free_travel_mm(every, turn, np.full(every.size, height))
        free = np.minimum(free, height).reshape(DIRECTIONS, some.size)
        travel[:, start : start + some.size] = free
    return travel


def _stop_at_guides(
    travel: Singles, laid: SortedPack, track: Track, stage: Ints, cans: Ints
) -> None:
    """Shorten the travel of some cans where a guide wire stops them first; changes ``travel``."""
    y = laid.place_mm.imag
    across = np.sin(2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS)
    rows = np.flatnonzero(np.abs(across) > 1e-9)
    across = across[rows, None]
    for k in np.unique(stage[cans]):
        here = cans[stage[cans] == k]
        right, left = laid.high_mm[here] - y[here], y[here] - laid.low_mm[here]
        out = np.maximum(np.where(across > 0.0, right, left), 0.0) / np.abs(across)
        stop = overhang_mm(out, track.standing.wires_mm[k], track.standing.height_mm)
        where = np.ix_(rows, here)
        travel[where] = np.minimum(travel[where], stop)
