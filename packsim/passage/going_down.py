"""Find the cans that a step's kicks tip, and lay them down as tipped cans are in their stage."""

import math
from dataclasses import replace

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.compiled import compiled
from packsim.pack.near import SKIN_REL
from packsim.passage.kicks import StepKicks, place_index
from packsim.passage.laid import SortedPack, laid_pack
from packsim.passage.record import PLACES, Event
from packsim.passage.seen import StepLook
from packsim.passage.state import State
from packsim.passage.tip import needed_mJ
from packsim.passage.tipped import down_rad
from packsim.passage.track import Track
from packsim.spray.least_energy import may_tip
from packsim.tipping.safe_slack import edge_slack_mm


def tips_of(state: State, track: Track, kicked: StepKicks, looked: StepLook) -> tuple[Event, ...]:
    """Return the cans that a step's kicks tip, each once.

    Parameters
    ----------
    state : State
        The pack before the kicks move anybody.
    track : Track
        The line.
    kicked : StepKicks
        The kicks.
    looked : StepLook
        A look at the pack.

    Returns
    -------
    tuple of Event
        In the order of the kicks.

    Notes
    -----
    Each kick has an exponential energy of mean E_k and tips its can if that exceeds E_tip(φ), so
    the chance per kick is exp(−E_tip(φ)/E_k), as in `packsim.tipping.row_chance`.
    """
    if not kicked.can.size:
        return ()  # the least energies of a line are not worked out for nobody
    standing, sprayed = track.standing, looked.sprayed_mm
    low, high, guide = looked.low_mm, looked.high_mm, looked.guide
    kicks = kicked.can, kicked.direction_rad, kicked.energy_mJ
    strong = compiled(may_tip)(kicks, sprayed, standing.load.ends_mm, standing.least)
    if strong.size == 0:
        return ()
    laid = laid_pack(state, standing.height_mm, low, high, looked.stage < 0, sprayed, guide)
    can, inside, energy = kicked.can[strong], kicked.stage[strong], kicked.energy_mJ[strong]
    needed = needed_mJ(laid, track, can, kicked.direction_rad[strong], inside, energy)
    over = np.flatnonzero(energy > needed)
    if over.size == 0:
        return ()
    _, first = np.unique(can[over], return_index=True)
    over = over[np.sort(first)]
    who = can[over]
    place, at = state.place_mm[who], guide[who]
    at_mm, y = state.stations_mm(place), place.imag
    return tuple(
        Event(
            time_s=state.time_s,
            can=int(state.id[who[i]]),
            stage=int(inside[k]),
            place=PLACES[place_index(y[i], low[at[i]], high[at[i]], track.lane_mm)],
            x_mm=float(at_mm[i]),
            y_mm=float(y[i]),
            direction_rad=float(kicked.direction_rad[strong[k]]),
            energy_mJ=float(energy[k]),
            needed_mJ=float(needed[k]),
        )
        for i, k in enumerate(over)
    )


def gone_down(
    state: State, track: Track, events: tuple[Event, ...]
) -> tuple[State, tuple[Event, ...]]:
    """Return the state with the cans of a step's tips down and counted.

    Parameters
    ----------
    state : State
        The pack as they tip.
    track : Track
        The line.
    events : tuple of Event
        The tips, at least one.

    Returns
    -------
    state : State
        With the pairs listed anew.
    events : tuple of Event
        The tips, with where each stood on the mat, its room, and the tipped can it stood beside.
    """
    low, high, stage = track.limits_mm(state.station_mm, state.radius_mm)
    laid = laid_pack(state, track.standing.height_mm, low, high, closed=stage < 0)
    events = _following(state, track, events, laid)
    return _laid_down(state, track, events, stage, laid), events


def stopped_rad(
    laid: SortedPack, track: Track, can: Ints, direction_rad: Floats, stage: Ints
) -> Floats:
    """Lean at which neighbours, guide or hold-down stop cans that tip, each standing so far.

    Parameters
    ----------
    laid, track, can, direction_rad, stage
        As for `needed_mJ`.

    Returns
    -------
    ndarray, shape (m,)
        A right angle where nothing stops them [rad].
    """
    standing = track.standing
    height, wires = standing.height_mm, standing.wire_rows()
    travel, _ = laid.free_travel_mm(can, np.exp(1j * direction_rad), np.full(can.shape, height))
    for q, (i, turned) in enumerate(zip(can.tolist(), direction_rad.tolist(), strict=True)):
        travel[q] = min(travel[q], laid.out_at_guide_mm(i, turned, wires[stage[q]], height))
    lean = np.arcsin(np.minimum(travel / height, 1.0))
    return np.minimum(lean, standing.meeting_rad.take(stage))


def room_of(
    laid: SortedPack, track: Track, can: int, direction_rad: float, stage: int
) -> tuple[float, float]:
    """Return the gap of a can in a direction, and the largest that stops it before its balance.

    Parameters
    ----------
    laid, track
        As for `needed_mJ`.
    can : int
        A standing can.
    direction_rad : float
        The direction [rad].
    stage : int
        The stage it is in.

    Returns
    -------
    gap_mm, safe_mm : float
        To what it meets first: another can, as far as both stand, or the guide, where a wire below
        the top stops it and the gap counts for more [mm]. The height where nothing is in reach.
    """
    standing = track.standing
    here, turned = np.array([can]), np.array([direction_rad])
    height, wires = standing.height_mm, standing.wire_rows()[stage]
    balance, _ = standing.load.at(laid.station_mm[here], laid.place_mm[here].imag, turned)
    travel, _ = laid.free_travel_mm(here, np.exp(1j * turned), np.array([height]))
    if travel[0] <= laid.out_at_guide_mm(can, direction_rad, wires, height):
        return float(travel[0]), height * math.sin(balance[0])
    away = laid.to_guide_mm(can, direction_rad)
    if away >= height:
        return height, height * math.sin(balance[0])
    return away, float(edge_slack_mm(height, balance, standing.wires_mm[stage])[0][0])


def chain_of(
    laid: SortedPack, track: Track, can: int, direction_rad: float, stage: int
) -> tuple[Ints, Floats]:
    """Return the cans that lean with one that tips, itself first, as `needed_mJ` counts them.

    Parameters
    ----------
    laid, track
        As for `needed_mJ`.
    can : int
        The can that tips.
    direction_rad : float
        Direction in which [rad].
    stage : int
        Stage it is in.

    Returns
    -------
    can : ndarray of int64, shape (n,)
        The chain, as far as the guide, a closed can or a gap that spares the next.
    before_mm : ndarray, shape (n,)
        Gaps that the first one's top crosses before each leans [mm].
    """
    standing, towards = track.standing, np.exp(1j * np.array([direction_rad]))
    here = np.array([can])
    turned = np.array([direction_rad])
    balance, _ = standing.load.at(laid.station_mm[here], laid.place_mm[here].imag, turned)
    left, chain, before = standing.height_mm * math.sin(balance[0]), [can], [0.0]
    wires = standing.wire_rows()[stage]
    while (
        left > 0.0
        and laid.out_at_guide_mm(chain[-1], direction_rad, wires, standing.height_mm) >= left - 1e-9
    ):
        gap, met = laid.free_travel_mm(np.array(chain[-1:]), towards, np.array([left]))
        if met[0] < 0 or gap[0] >= left or laid.closed[met[0]]:
            break
        left -= float(gap[0])
        chain.append(int(met[0]))
        before.append(before[-1] + float(gap[0]))
    return np.array(chain), np.array(before)


def _following(
    state: State, track: Track, events: tuple[Event, ...], laid: SortedPack
) -> tuple[Event, ...]:
    """Say of each can that tips where it stood, with what room, beside which tipped can.

    Beside means listed as a pair that could meet, or near to one gone: within as much.
    """
    reach = (1.0 + SKIN_REL) * track.diameter_mm
    down = np.flatnonzero(state.tipped)
    found = []
    for event in events:
        can = int(np.searchsorted(state.id, event.can))  # ids rise along the arrays
        away = state.near.vectors_mm(state.place_mm, np.array([can]), down)
        beside = np.flatnonzero(np.abs(away) <= reach + state.span_mm[down] / 2.0)
        first = int(state.id[down[beside].min()]) if beside.size else -1
        gap, safe = room_of(laid, track, can, event.direction_rad, event.stage)
        mat = float(state.x_mm[can])
        found.append(replace(event, mat_mm=mat, beside=first, gap_mm=gap, safe_mm=safe))
    return tuple(found)


def _laid_down(
    state: State, track: Track, events: tuple[Event, ...], stage: Ints, laid: SortedPack
) -> State:
    """Count the tips, and lay the cans down as tipped ones are in their stage."""
    can = np.searchsorted(state.id, np.array([event.can for event in events]))
    fell = state.fell_rad.copy()
    fell[can] = [event.direction_rad for event in events]
    stop = stopped_rad(laid, track, can, fell[can], stage[can])
    at_mm = laid.station_mm.take(can)
    balance, _ = track.standing.load.at(at_mm, state.y_mm.take(can), fell[can])
    tips, down = state.tips.copy(), state.down_rad.copy()
    for i, event in enumerate(events):
        tips[event.stage, PLACES.index(event.place)] += 1
        down[can[i]] = down_rad(track.tipped[event.stage], float(stop[i]), float(balance[i]))
    state = replace(state, tips=tips, down_rad=down, fell_rad=fell)
    return state.listed()
