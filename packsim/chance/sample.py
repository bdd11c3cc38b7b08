"""One repeat: a slice of pack carried down the line, nothing tips, its barriers looked at."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.sparse import csr_array

from packsim.arrays import Floats, Ints
from packsim.chance.directions import turned_pack
from packsim.chance.spectrum import CEILING, SURE, shared_out
from packsim.passage import PLACES
from packsim.passage.kicks import place_index
from packsim.passage.state import State
from packsim.passage.step import start_slice, step
from packsim.passage.tip import needed_mJ, sorted_pack
from packsim.passage.track import Track

LEAST_LOOKS = 8
"""Looks in a stage however short it is."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How finely a repeat looks.

    Parameters
    ----------
    slice_mm : float
        Length of the periodic slice [mm].
    dt_s : float
        Time step of the passage [s].
    look_mm : float
        Travel of the mat between two looks at the pack [mm].
    directions : int
        Directions looked in from every can, evenly apart and turned at random each time.
    """

    slice_mm: float = 600.0
    dt_s: float = 0.2
    look_mm: float = 150.0
    directions: int = 16


def lanes_of(track: Track) -> Ints:
    """Return the lane of every can of the infeed's stretch, counted from the left."""
    _, lane = np.unique(np.round(track.infeed.place_mm.imag, 1), return_inverse=True)
    return np.asarray(lane, dtype=np.int64)


def cans_in(track: Track, plan: Plan) -> int:
    """Return the number of cans in a slice."""
    copies = int(np.ceil(plan.slice_mm / track.infeed.length_mm - 1e-9))
    return copies * len(track.infeed)


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
    state = start_slice(track, rng, plan.slice_mm)
    lanes = lanes_of(track)
    lane = np.tile(lanes, len(state) // lanes.size)
    wide = (int(lanes.max()) + 1) * len(PLACES)
    found: list[list[tuple[Ints, Floats]]] = [[] for _ in track.stages]
    for stage, station, time_s in _looks(track, plan, rng):
        while state.travel_mm < station - 1e-9:
            rest_s = (station - state.travel_mm) / track.speed_mm_per_s
            state, _ = step(state, track, min(plan.dt_s, rest_s), rng, tips=False)
        found[stage].append(_barriers(state, track, stage, lane, time_s, plan.directions, rng))
    per_lane = np.repeat(np.bincount(lane), len(PLACES))
    return tuple(_table(parts, wide, per_lane) for parts in found)


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
    directions: int,
    rng: np.random.Generator,
) -> tuple[Ints, Floats]:
    """Flat places in the table of lane, place and bin, and the weights to add there."""
    station = state.station_mm
    low, high = track.limits_mm(station, state.radius_mm, track.cell(station))
    joint_mJ = 0.0 if time_s else float(track.shaking.joint_mJ[stage])
    x = station if joint_mJ else _spread_out(state, track, stage, rng)
    laid = sorted_pack(state.place_mm, state.radius_mm, low, high, state.period_mm, station_mm=x)
    place = place_index(state.y_mm, low, high, track.lane_mm)
    turn = np.linspace(0.0, 2.0 * np.pi, directions, endpoint=False) + rng.uniform(0.0, np.pi)
    turned = turned_pack(laid, track, stage, turn, state.period_mm)
    copies = np.arange(directions * len(state))
    alone = float(track.standing.rest_energy_mJ[stage])
    ceiling = np.inf if joint_mJ else CEILING * alone
    inside = np.full(copies.size, stage)
    needed = needed_mJ(turned, track, copies, np.repeat(turn, len(state)), inside, ceiling)
    finite = np.flatnonzero(np.isfinite(needed))
    can = finite % len(state)
    if joint_mJ:
        row = (lane * len(PLACES) + place)[can]
        tips = np.exp(-needed[finite] / joint_mJ) / directions
        return row * (SURE + 1) + SURE, tips
    kicks = time_s * track.shaking.rate_per_s(inside[finite], x.take(can))
    bins, weight = shared_out(needed[finite], kicks / directions)
    row = (lane * len(PLACES) + place)[can]
    return np.tile(row, 2) * (SURE + 1) + bins, weight


def _spread_out(state: State, track: Track, stage: int, rng: np.random.Generator) -> Floats:
    """Places along the line at which the cans meet the sprays.

    All cans of a slice see the guides of one station. Under the sprays that would put all of them
    under a header at once, and none a moment later; so they are spread over the slice's length
    about that station, or over the stage where that is shorter, from a random beginning.
    """
    start, stop = track.bounds_mm[stage : stage + 2]
    wide = min(state.period_mm, stop - start)
    first = np.clip(state.travel_mm - wide / 2.0, start, stop - wide)
    return np.asarray(first + (state.x_mm + rng.random() * wide) % wide)


def _table(parts: list[tuple[Ints, Floats]], rows: int, per_lane: Ints) -> csr_array:
    where = np.concatenate([at for at, _ in parts])
    weight = np.concatenate([weight for _, weight in parts])
    flat, inverse = np.unique(where, return_inverse=True)
    row, column = flat // (SURE + 1), flat % (SURE + 1)
    total = np.bincount(inverse, weight, minlength=flat.size) / per_lane[row]
    return csr_array((total, (row, column)), shape=(rows, (SURE + 1)))
