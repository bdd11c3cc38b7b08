"""One repeat: a slice of pack carried down the line, nothing tips, its barriers looked at."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.chance.directions import along_sprays_mm, turned_pack
from packsim.chance.spectrum import CEILING, SURE, shared_out
from packsim.counts.along_travel import LEAST_SLICE_MM
from packsim.passage import PLACES
from packsim.passage.kicks import place_index
from packsim.passage.laid import sorted_pack
from packsim.passage.state import State
from packsim.passage.step import start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track

if TYPE_CHECKING:
    from scipy.sparse import csr_array

CENTRE = PLACES.index("centre")

EDGE_OFTEN = (4, 16)
"""Cans beside a guide go first and are few: each is asked at this many places under the sprays, as
many as make them as many as the others."""

_OFF = (0.0, 9.0, 18.0, 30.0, 45.0, 65.0, 90.0)
ARCS_RAD: Floats = np.radians(
    np.unique([side + sign * off for side in (90.0, 270.0) for sign in (-1, 1) for off in _OFF])
)
"""Ends of the arcs from each of which one direction is asked: narrow towards the guides, where the
room is and a barrier is low in a few directions only. In arcs that mirror each other about the
normal of the guide the directions are not mirrored: one is nearer to it, the other farther off."""

FOLLOWED = 2.0
"""Times the energy that tips a can alone up to which every barrier is followed to its end. Of those
that turn out k times as high one in k is, and counts k-fold: most marches end at a guide however
far they go, and the few kicks so high barriers matter for tip cans by the hundred."""

LEAST_LOOKS = 8
"""Looks in a stage however short it is."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How finely a repeat looks.

    Parameters
    ----------
    slice_mm : float
        Least length of the periodic slice [mm].
    cans : int
        Least number of cans in it.
    dt_s : float
        Time step of the passage [s].
    look_mm : float
        Travel of the mat between two looks at the pack [mm].
    """

    slice_mm: float = LEAST_SLICE_MM
    cans: int = 250
    dt_s: float = 0.2
    look_mm: float = 200.0

    def stretches(self, cans: int, length_mm: float) -> int:
        """Return how many stretches, each of so many cans and so long, make a slice."""
        return math.ceil(max(self.cans / cans, self.slice_mm / length_mm) - 1e-9)


def lanes_of(track: Track) -> Ints:
    """Return the lane of every can of the infeed's stretch, counted from the left."""
    _, lane = np.unique(np.round(track.infeed.place_mm.imag, 1), return_inverse=True)
    return np.asarray(lane, dtype=np.int64)


def sampled(track: Track, seed: np.random.SeedSequence, plan: Plan) -> tuple[csr_array, ...]:
    """Carry one slice down the line and return its barrier spectrum.

    Parameters
    ----------
    track : Track
        The line; the energy of its kicks is not used.
    seed : SeedSequence
        The only source of randomness.
    plan : Plan
        How finely to look.

    Returns
    -------
    tuple of csr_array, shape (l · 3, bins + 1)
        For each stage the kicks a can gets by lane, place and bin of energy, as in `Spectrum`.

    Notes
    -----
    The pack is looked at once in every stretch of travel, at a random place of it, so any spacing
    is right on average; stretches end where stages end. A look stands for the kicks of its stretch.
    At a joint with a kick of its own all cans are looked at as they come to it.
    """
    rng = np.random.default_rng(seed)
    each = track.infeed.length_mm
    state = start_slice(track, rng, plan.stretches(len(track.infeed), each) * each)
    lanes = lanes_of(track)
    lane = np.tile(lanes, len(state) // lanes.size)
    wide = (int(lanes.max()) + 1) * len(PLACES)
    found: list[list[tuple[Ints, Floats]]] = [[] for _ in track.stages]
    for stage, station, time_s in _looks(track, plan, rng):
        while state.travel_mm < station - 1e-9:
            rest_s = (station - state.travel_mm) / track.speed_mm_per_s
            state, _ = step(state, track, min(plan.dt_s, rest_s), rng, tips=False)
        found[stage].append(_barriers(state, track, stage, lane, time_s, rng))
    per_lane = np.repeat(np.bincount(lane), len(PLACES))
    return tuple(_table(parts, wide, per_lane) for parts in found)


def looked_at(
    state: State, track: Track, stage: int, seed: np.random.SeedSequence, plan: Plan
) -> csr_array:
    """Return the barrier spectrum of one stage for a slice whose cans keep their places all along.

    Parameters
    ----------
    state : State
        The slice of n cans.
    track : Track
        The line; the energy of its kicks is not used.
    stage : int
        Index of the stage.
    seed : SeedSequence
        The only source of randomness: where it is looked at, and in which directions.
    plan : Plan
        How finely to look.

    Returns
    -------
    csr_array, shape (n · 3, bins + 1)
        As one stage of `sampled`, every can a lane of its own.
    """
    rng, own = np.random.default_rng(seed), np.arange(len(state))
    found = [
        _barriers(replace(state, travel_mm=station), track, stage, own, time_s, rng)
        for at, station, time_s in _looks(track, plan, rng)
        if at == stage
    ]
    return _table(found, own.size * len(PLACES), np.ones(own.size * len(PLACES), np.int64))


def _looks(track: Track, plan: Plan, rng: np.random.Generator) -> list[tuple[int, float, float]]:
    """Stage and place of every look, and the time of the stretch it stands for [mm], [s].

    No time: a look at a joint with a kick of its own.
    """
    looks = []
    for i, (start, stop) in enumerate(pairwise(track.bounds_mm.tolist())):
        count = max(LEAST_LOOKS, int(np.ceil((stop - start) / plan.look_mm)))
        each = (stop - start) / count
        at = start + each * (np.arange(count) + rng.random(count))
        looks += [(i, start, 0.0)] if track.shaking.joint_mJ[i] > 0.0 else []
        looks += [(i, float(station), each / track.speed_mm_per_s) for station in at]
    return looks


def _barriers(
    state: State,
    track: Track,
    stage: int,
    lane: Ints,
    time_s: float,
    rng: np.random.Generator,
) -> tuple[Ints, Floats]:
    """Flat places in the table of lane, place and bin, and the weights to add there."""
    station = state.station_mm
    low, high, _ = track.limits_mm(station, state.radius_mm)
    place = place_index(state.y_mm, low, high, track.lane_mm)
    edge = np.flatnonzero(place != CENTRE)
    often = int(np.clip(len(state) // max(edge.size, 1), *EDGE_OFTEN))
    joint_mJ = 0.0 if time_s else float(track.shaking.joint_mJ[stage])
    begin = (np.arange(often) + rng.random()) * (state.period_mm / often)
    along = np.array([station if joint_mJ else along_sprays_mm(state, track, b) for b in begin])
    arc = np.diff(ARCS_RAD)
    share = rng.random(arc.size // 4)
    turn = ARCS_RAD[:-1] + arc * np.tile(np.concatenate((share, share[::-1])), 2)
    laid = sorted_pack(state.place_mm, state.radius_mm, low, high, state.period_mm)
    turned = turned_pack(laid, track, turn, along)
    # cans between the edges at the first place alone, cans beside a guide at all of them
    first = np.arange(turn.size * len(state)).reshape(turn.size, -1)
    again = np.arange(often)[:, None, None] * first.size + first[:, edge]
    asked = np.concatenate((np.delete(first, edge, axis=1).ravel(), again.ravel()))
    towards = turn.take(asked % first.size // len(state))
    followed = FOLLOWED * float(track.standing.rest_energy_mJ[stage])
    budget = np.minimum(followed / (1.0 - rng.random(asked.size)), CEILING / FOLLOWED * followed)
    if joint_mJ:
        budget[:] = followed = np.inf
    needed = needed_mJ(turned, track, asked, towards, np.full(asked.size, stage), budget)
    finite = np.flatnonzero(np.isfinite(needed))
    needed, asked = needed[finite], asked[finite]
    can = asked % len(state)
    share = arc.take(asked % first.size // len(state)) / (2.0 * np.pi)
    share /= np.where(place == CENTRE, 1, often).take(can)
    share *= np.maximum(needed / followed, 1.0)
    row = (lane * len(PLACES) + place).take(can) * (SURE + 1)
    if joint_mJ:
        return row + SURE, share * np.exp(-needed / joint_mJ)
    rate = track.shaking.rate_per_s(np.full(can.size, stage), along[asked // first.size, can])
    bins, weight = shared_out(needed, share * time_s * rate)
    return np.tile(row, 2) + bins, weight


def _table(parts: list[tuple[Ints, Floats]], rows: int, per_lane: Ints) -> csr_array:
    from scipy.sparse import csr_array  # heavy to import: few commands run passages

    where = np.concatenate([at for at, _ in parts])
    weight = np.concatenate([weight for _, weight in parts])
    flat, inverse = np.unique(where, return_inverse=True)
    row, column = flat // (SURE + 1), flat % (SURE + 1)
    total = np.bincount(inverse, weight, minlength=flat.size) / per_lane[row]
    return csr_array((total, (row, column)), shape=(rows, (SURE + 1)))
