"""Settle a pack whose cans were moved: between the guides and apart, lying cans as one body."""

from dataclasses import replace

import numpy as np

from packsim.arrays import Floats, Indices, Places
from packsim.pack.near import Near
from packsim.passage.relax import CAP, TOLERANCE_MM, relax, worst_overlap
from packsim.passage.state import State
from packsim.passage.tipped import made_rigid, sunk
from packsim.passage.track import Track

Known = tuple[Indices, Floats, Floats, Indices]
"""Of cans that were all apart a step ago: who moved against neighbours or guides since, and the
limits of all between the guides, as of `relax`."""

SINK_S = 6.0
"""Time in which a can that tips among others works itself down to the mat where it finds room [s]:
invented, slow enough that the pack gives way by less than a millimetre in a step."""

_RIGID_TURNS = 4
"""Most turns of pushing the discs of lying cans apart from others and back into line."""

_LISTINGS = 4
"""Most times within a step that pairs are listed anew: kicks of centimetres, none that is usual."""


def settled(
    state: State,
    track: Track,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
    known: Known | None = None,
) -> State:
    """Bring the cans between the guides and apart, also from those that were not listed before.

    Parameters
    ----------
    state : State
        The pack as it was moved; its centres are moved on in their own array where ``known``.
    track : Track
        The line.
    tolerance_mm, cap
        As for `relax`.
    known : Known, optional
        In a pack whose pairs are listed and were apart a step ago; all cans are asked otherwise.

    Returns
    -------
    State
        With the overlap that is left, at most the tolerance unless the cap was reached.
    """
    for _ in range(_LISTINGS):
        state = _apart(state, track, tolerance_mm, cap, known)
        place = state.discs_mm()[0]
        if not state.near.stale(place):
            break
        listed = state.listed()
        overlap_mm, _ = worst_overlap(listed.near, place)
        if overlap_mm <= max(tolerance_mm, state.overlap_mm):
            break
        state, known = replace(listed, overlap_mm=overlap_mm), None
    return state


def _apart(state: State, track: Track, tolerance_mm: float, cap: int, known: Known | None) -> State:
    """Bring listed cans apart; a lying one moves and turns as one body."""
    place, owner = state.discs_mm()
    if known is None or owner.size:
        moved, guide, station = None, None, state.stations_mm(place)
        low, high, _ = track.limits_mm(station, state.near.radius_mm)
    else:
        moved, low, high, guide = known
    begin, fell = place, state.fell_rad
    for _ in range(_RIGID_TURNS if owner.size else 1):
        relaxed = relax(
            state.near,
            place,
            low,
            high,
            tolerance_mm,
            cap,
            backwards=state.steps % 2 == 1,
            guide=guide,
            moved=moved,
            in_place=moved is not None,  # they are of this step, and nobody else's
        )
        place, off_mm = relaxed.place_mm, 0.0
        if owner.size:
            place, fell = made_rigid(place, owner, fell, state.span_mm)
            off_mm = float(np.abs(place - relaxed.place_mm).max())
        if off_mm <= tolerance_mm:
            break
    overlap_mm, worst = relaxed.overlap_mm, relaxed.worst
    if owner.size:  # back in line its discs overlap others and guides anew
        beyond = np.maximum(low - place.imag, place.imag - high)
        most = int(beyond.argmax())
        anew = worst_overlap(state.near, place), (float(beyond[most]), most)
        overlap_mm, worst = max((overlap_mm, worst), *anew)
    if moved is not None:
        overlap_mm = max(overlap_mm, state.overlap_mm)
    if moved is not None and overlap_mm == state.overlap_mm <= tolerance_mm:
        return state  # moved in place
    stage = 0
    if overlap_mm > tolerance_mm:
        at_mm = state.stations_mm(begin[worst : worst + 1])
        stage = max(stage, int(track.stage_at[track.cell(at_mm)][0]))
    return replace(
        state,
        place_mm=place[: len(state)],
        fell_rad=fell,
        overlap_mm=overlap_mm,
        overlap_stage=stage,
    )


def sunk_down(state: State, track: Track, dt_s: float) -> State:
    """Let lying cans sink down where the pack makes room."""
    place, owner = state.discs_mm()
    near, body = state.near, np.append(np.arange(len(state)), owner)
    ends = near.pairs()
    over = near.sums_mm(*ends) - np.abs(near.vectors_mm(place, *ends))
    press = np.zeros(len(state))
    for end in ends:
        np.maximum.at(press, body[end], over)
    whole = max(0.0, track.standing.height_mm - track.diameter_mm)
    by_mm = whole * dt_s / SINK_S
    place, span = sunk(
        state.place_mm, state.down_rad, state.fell_rad, state.span_mm, press, by_mm, whole
    )
    return replace(state, place_mm=place, span_mm=span)


def rubbed(state: State, track: Track, place_mm: Places) -> Places:
    """Hold back cans that slide along each other, see `hold_back`.

    Parameters
    ----------
    state : State
        The pack before the step.
    track : Track
        The line, for the friction.
    place_mm : ndarray of complex128, shape (n,)
        Where kicks and drift took its cans [mm].

    Returns
    -------
    ndarray of complex128, shape (n,)
        Centres, between the guides [mm].
    """
    discs = state.discs_mm(place_mm)[0]
    if state.near.stale(discs):
        return place_mm
    place = hold_back(state.near, state.discs_mm()[0], discs, track.can_friction)[: len(state)]
    low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
    np.clip(place.imag, low, high, out=place.imag)
    return place


def hold_back(near: Near, before_mm: Places, place_mm: Places, friction: float) -> Places:
    """Hold back cans that slide along each other while they are pressed together.

    Parameters
    ----------
    near : Near
        Pairs within reach.
    before_mm, place_mm : ndarray of complex128, shape (n,)
        Centres before the step, and after kicks and drift but before overlaps are undone [mm].
    friction : float
        Coefficient of friction between cans [-].

    Returns
    -------
    ndarray of complex128, shape (n,)
        Centres [mm].

    Notes
    -----
    Coulomb's law on displacements: an overlap o is what the pair will be pressed apart by, so up to
    friction · o of the tangential displacement of the pair within the step is taken back, half on
    each. A can in several contacts gets the mean of what they ask for.
    """
    first, second = near.pairs()
    vector = near.vectors_mm(place_mm, first, second)
    apart = np.abs(vector)
    overlap = near.sums_mm(first, second) - apart
    touch = np.flatnonzero(overlap > 0.0)
    if friction == 0.0 or touch.size == 0:
        return place_mm
    first, second, overlap = first.take(touch), second.take(touch), overlap.take(touch)
    vector, apart = vector.take(touch), apart.take(touch)
    along = 1j * vector / np.where(apart > 0.0, apart, 1.0)
    moved = place_mm - before_mm
    slid = ((moved.take(second) - moved.take(first)) * along.conj()).real
    most = friction * overlap
    back = np.clip(slid, -most, most) * along / 2.0
    cans = np.concatenate((first, second))
    change = np.concatenate((back, -back))
    share = np.maximum(np.bincount(cans, minlength=place_mm.size), 1)
    sum_x = np.bincount(cans, change.real, place_mm.size)
    sum_y = np.bincount(cans, change.imag, place_mm.size)
    return np.asarray(place_mm + (sum_x + 1j * sum_y) / share)
