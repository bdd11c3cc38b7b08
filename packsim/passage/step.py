"""Start a pack on the mat and carry it on, one step of time after the other."""

from dataclasses import replace

import numpy as np

from packsim.compiled import compiled
from packsim.errors import InputError, at_least, non_negative, positive
from packsim.pack.near import list_near
from packsim.passage.going_down import gone_down, tips_of
from packsim.passage.kicks import draw_kicks, shaken
from packsim.passage.record import Event
from packsim.passage.relax import CAP, TOLERANCE_MM
from packsim.passage.seen import looked_over, pieces_of
from packsim.passage.settle import rubbed, settled, sunk_down
from packsim.passage.state import State, no_counts
from packsim.passage.tipped import who_is_down
from packsim.passage.track import Track
from packsim.width.guide_faces import LEAD_DIAMETERS

DT_S = 0.05
"""Usual step [s]: the mat moves some 5 mm and one can in ten is kicked."""

_PUSHED_REL = 0.02
"""The infeed waits when its last stretch has been pushed back by this share of a diameter."""


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
    return settled(_fed(state, track, rng).listed(), track)


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
    return settled(replace(state, period_mm=copies * infeed.length_mm).listed(), track)


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
        (looked.low_mm, looked.high_mm, looked.guide, looked.outer, looked.meets),
        (looked.ladder[:2], pieces.drift_mm_per_s * dt_s, track.lane_mm),
        (travel, float(state.period_mm), state.radius_mm, track.between),
    )
    after = replace(
        state,
        kicks=state.kicks + counts,
        steps=state.steps + 1,
        time_s=state.time_s + dt_s,
        travel_mm=travel,
        place_mm=rubbed(state, track, place) if track.can_friction else place,
    )
    flat = who_is_down(state.down_rad)[2].size > 0
    if flat:
        after = sunk_down(after, track, dt_s)
    spread_mm = 2.0 * most_mm + pieces.parting_mm_per_s * dt_s
    may_meet = flat or track.can_friction or near.far(near.spread_mm(state.place_mm) + spread_mm)
    after = _renewed(after, track, rng, may_meet and near.stale(after.discs_mm()[0]))
    limits = looked.low_mm, looked.high_mm, looked.guide
    known = (moved, *limits) if after.near is apart else None
    return settled(after, track, tolerance_mm, cap, known), events


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
