"""Start a pack on the mat and carry it on, one step of time after the other."""

from dataclasses import replace

import numpy as np

from packsim.arrays import Floats, Indices, Places
from packsim.compiled import compiled
from packsim.errors import InputError, at_least, non_negative, positive
from packsim.passage.going_down import gone_down, sunk_down, tips_of
from packsim.passage.guide_faces import LEAD_DIAMETERS
from packsim.passage.kicks import draw_kicks, looked_over, pieces_of, shaken
from packsim.passage.near import list_near
from packsim.passage.record import Event
from packsim.passage.relax import CAP, TOLERANCE_MM, hold_back, relax, worst_overlap
from packsim.passage.state import State, no_counts
from packsim.passage.tipped import made_rigid, who_is_down
from packsim.passage.track import Track

DT_S = 0.05
"""Usual step [s]: the mat moves some 5 mm and one can in ten is kicked."""

Known = tuple[Indices, Floats, Floats, Indices]
"""Of cans that were all apart a step ago: who moved against neighbours or guides since, and the
limits of all between the guides, as of `relax`."""

_PUSHED_REL = 0.02
"""The infeed waits when its last stretch has been pushed back by this share of a diameter."""


_RIGID_TURNS = 4
"""Most turns of pushing the discs of lying cans apart from others and back into line."""

_LISTINGS = 4
"""Most times within a step that pairs are listed anew: kicks of centimetres, none that is usual."""


def start(track: Track, rng: np.random.Generator, *, filled: bool = True) -> State:
    """Return the pack at the beginning, a whole line of it or an empty mat.

    Parameters
    ----------
    track : Track
        The line.
    rng : Generator
        For the diameters.
    filled : bool
        Fill the line from end to end with the infeed's pattern; otherwise only the lead-in.

    Returns
    -------
    State
        At time 0, brought between the guides and apart as far as that goes.
    """
    lead = LEAD_DIAMETERS * track.diameter_mm
    state = _nothing(track, head_mm=track.length_mm + lead if filled else 0.0)
    return _settled(_fed(state, track, rng).listed(), track)


def start_slice(track: Track, rng: np.random.Generator, length_mm: float) -> State:
    """Return a periodic slice of pack at the line's upstream end.

    Parameters
    ----------
    track : Track
        The line.
    rng : Generator
        For the diameters.
    length_mm : float
        Least length of the slice; it gets a whole number of the infeed's stretches [mm].

    Returns
    -------
    State
        All its cans see the guides of one station, which moves down the line with the mat. That is
        right for a slice that is short against the spans of the guides.
    """
    at_least("length_mm", length_mm, 4.0 * track.diameter_mm, "mm")
    infeed = track.infeed
    copies = int(np.ceil(length_mm / infeed.length_mm - 1e-9))
    state = _nothing(track, head_mm=0.0)
    places = [infeed.place_mm + k * infeed.length_mm for k in range(copies)]
    place = np.concatenate(places)
    state = state.with_cans(place, infeed.radii_mm(place.size, rng))
    return _settled(replace(state, period_mm=copies * infeed.length_mm).listed(), track)


def step(
    state: State,
    track: Track,
    dt_s: float,
    rng: np.random.Generator,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
    tips: bool = True,
) -> tuple[State, tuple[Event, ...]]:
    """Carry the pack on by one step of time.

    Parameters
    ----------
    state : State
        The pack; not changed.
    track : Track
        The line, which may differ from the last step's in all but the number of stages.
    dt_s : float
        Length of the step [s].
    rng : Generator
        Randomness.
    tolerance_mm : float
        Overlap that may remain [mm].
    cap : int
        Most sweeps of the relaxation.
    tips : bool
        Let kicks tip cans; without, the pack only moves, whatever the energy of the kicks.

    Returns
    -------
    state : State
        The pack ``dt_s`` later.
    events : tuple of Event
        Cans that tipped in between.

    Raises
    ------
    InputError
        If ``dt_s`` is negative, or the track has another number of stages.
    """
    non_negative("dt_s", dt_s)
    if state.kicks.shape[0] != len(track.stages):
        raise InputError("track", f"{len(track.stages)} stages", f"{state.kicks.shape[0]} stages")
    looked = looked_over(state, track)
    kicked = draw_kicks(track, looked.ladder, looked.station_mm, state.tipped, dt_s, rng)
    events = tips_of(state, track, kicked, looked) if tips else ()
    apart = state.near if state.overlap_mm <= tolerance_mm and not track.can_friction else None
    if events:
        state, events = gone_down(state, track, events)
        looked = looked_over(state, track)
    travel, near = state.travel_mm + track.speed_mm_per_s * dt_s, state.near
    pieces = pieces_of(track)
    place, moved, counts, most_mm = compiled(shaken)(
        state.place_mm,
        (kicked.can, kicked.stage, kicked.move_mm),
        (looked.low_mm, looked.high_mm, looked.guide, looked.stage, looked.meets),
        (pieces.drift_mm_per_s * dt_s, track.lane_mm),
        (travel, float(state.period_mm), state.radius_mm, track.between),
    )
    after = replace(
        state,
        kicks=state.kicks + counts,
        steps=state.steps + 1,
        time_s=state.time_s + dt_s,
        travel_mm=travel,
        place_mm=_rubbed(state, track, place) if track.can_friction else place,
    )
    flat = who_is_down(state.down_rad)[2].size > 0
    if flat:
        after = sunk_down(after, track, dt_s)
    spread_mm = 2.0 * most_mm + pieces.parting_mm_per_s * dt_s
    may_meet = flat or track.can_friction or near.far(near.spread_mm(state.place_mm) + spread_mm)
    after = _renewed(after, track, rng, may_meet and near.stale(after.discs_mm()[0]))
    limits = looked.low_mm, looked.high_mm, looked.guide
    known = (moved, *limits) if after.near is apart else None
    return _settled(after, track, tolerance_mm, cap, known), events


def _nothing(track: Track, head_mm: float) -> State:
    positive("speed_mm_per_s", track.speed_mm_per_s)
    none = np.empty(0)
    places = none.astype(np.complex128)
    k = len(track.stages)
    return State(
        place_mm=places,
        radius_mm=none,
        id=none.astype(np.int64),
        down_rad=none,
        fell_rad=none,
        span_mm=none,
        near=list_near(places, none),
        tail_mm=head_mm,
        kicks=no_counts(k),
        tips=no_counts(k),
    )


def _rubbed(state: State, track: Track, place_mm: Places) -> Places:
    """Hold back cans that slide along each other."""
    discs = state.discs_mm(place_mm)[0]
    if state.near.stale(discs):
        return place_mm
    place = hold_back(state.near, state.discs_mm()[0], discs, track.can_friction)[: len(state)]
    low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
    np.clip(place.imag, low, high, out=place.imag)
    return place


def _renewed(state: State, track: Track, rng: np.random.Generator, stale: bool) -> State:
    """Feed and let go what is due, and list the pairs anew where that is needed."""
    if state.period_mm > 0.0:
        if state.travel_mm >= track.length_mm:
            none = state.keep(np.zeros(len(state), dtype=np.bool_))
            return replace(none, cans_out=state.cans_out + len(state)).listed()
        return state.listed() if stale else state
    lead = LEAD_DIAMETERS * track.diameter_mm
    if state.tail_mm + state.travel_mm <= -lead and not stale:
        return state
    keep = state.station_mm <= track.length_mm + lead
    gone = len(state) - int(keep.sum())
    if gone:
        state = replace(state.keep(keep), cans_out=state.cans_out + gone)
    return _fed(state, track, rng).listed()


def _fed(state: State, track: Track, rng: np.random.Generator) -> State:
    """Add stretches of pack until the lead-in is full; wait where the pack has been pushed back."""
    infeed = track.infeed
    if len(infeed) == 0:
        return replace(state, tail_mm=-np.inf)
    tail = state.tail_mm if np.isfinite(state.tail_mm) else -state.travel_mm
    held_up = state.held_up_mm
    if len(state):
        rear = float(state.x_mm.min()) - float(infeed.place_mm.real.min())
        if rear < tail - _PUSHED_REL * track.diameter_mm:
            held_up += tail - rear
            tail = rear
    lead = LEAD_DIAMETERS * track.diameter_mm
    while tail + state.travel_mm > -lead:
        tail -= infeed.length_mm
        state = state.with_cans(infeed.place_mm + tail, infeed.radii_mm(len(infeed), rng))
    return replace(state, tail_mm=tail, held_up_mm=held_up)


def _settled(
    state: State,
    track: Track,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
    known: Known | None = None,
) -> State:
    """Bring the cans between the guides and apart, also from those that were not listed before."""
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
