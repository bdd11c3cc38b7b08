"""What a step sees of every can: its stage, its guide, who it may meet, how often it is kicked."""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats, Indices, Ints, Places, Shorts
from packsim.compiled import compiled, kernel
from packsim.passage.state import State
from packsim.passage.tipped import who_is_down
from packsim.passage.track import Between, Track, limits_at
from packsim.spray.in_place import stretch_at

Ladder = tuple[Ints, Ints, Floats]
"""Runs of cans one after the other that get kicks alike: first can of each run, and how many cans
there are, shape (r + 1,); stage of each run, shape (r,); rate of the kicks of all cans before each
run, and of all, shape (r + 1,) [1/s]. Who is outside or tipped gets none."""


class Pieces(NamedTuple):
    """A line cut wherever anything changes for a can on its way, into w pieces.

    Parameters
    ----------
    ends_mm : ndarray, shape (w - 1,)
        Where each but the last ends [mm].
    stage : ndarray of int64, shape (w,)
        Its stage, −1 before the first and after the last.
    sprayed : ndarray of bool, shape (w,)
        Whether it is under a header.
    meets : ndarray of bool, shape (w,)
        Whether a can on it may touch one that drifts otherwise.
    drift_mm_per_s : ndarray, shape (k + 1,)
        Drift of each stage, and 0 for the outside [mm/s].
    parting_mm_per_s : float
        By how much at most one of these is more than another [mm/s].
    """

    ends_mm: Floats
    stage: Ints
    sprayed: Bools
    meets: Bools
    drift_mm_per_s: Floats
    parting_mm_per_s: float


class StepLook(NamedTuple):
    """What a look at every can tells a step; arrays of shape (n,).

    Parameters
    ----------
    station_mm, sprayed_mm : ndarray
        Where each can is along the line, and where it meets the sprays [mm].
    low_mm, high_mm, guide : ndarray
        Between which y cans may be [mm], first infinite for all within `Track.inner_mm`, then for
        each of the others; and the place of every can there, of uint32.
    outer : ndarray of uint32, shape (m,)
        Those others, by rising number.
    stage : ndarray of int16
        Stage of each that stands; −1 of who is tipped or outside, where the pack goes on.
    meets : ndarray of bool
        Who may move against a neighbour unkicked: who is tipped, and as of `Pieces`.
    ladder : Ladder
        How often they are kicked.
    """

    station_mm: Floats
    sprayed_mm: Floats
    low_mm: Floats
    high_mm: Floats
    guide: Indices
    outer: Indices
    stage: Shorts
    meets: Bools
    ladder: Ladder


@lru_cache(maxsize=8)
def pieces_of(track: Track) -> Pieces:
    """Return the pieces of a line."""
    headers, bounds, reach = track.shaking.headers_mm, track.bounds_mm, track.touch_mm
    joints = track.station_mm[1:][np.diff(track.stage_at) != 0]
    ends = np.unique(np.concatenate((joints, headers, bounds - reach, bounds + reach)))
    middle = np.concatenate((ends[:1] - 1.0, (ends[1:] + ends[:-1]) / 2.0, ends[-1:] + 1.0))
    stage = track.stage_at[track.cell(middle)]
    drift = np.append(track.shaking.drift_mm_per_s, 0.0)
    before, own, behind = (drift[(stage + k) % len(drift)] for k in (-1, 0, 1))
    begun = (middle - bounds[stage] < reach) & (before != own)
    soon = (bounds[np.minimum(stage + 1, len(bounds) - 1)] - middle < reach) & (behind != own)
    meets = (stage >= 0) & (begun | soon)  # who is outside is seen from the inside
    sprayed = np.searchsorted(headers, middle, side="right") % 2 == 1
    alike = np.column_stack((stage, sprayed, meets))
    new = np.append(True, (alike[1:] != alike[:-1]).any(axis=1))
    return Pieces(
        ends_mm=ends[new[1:]],
        stage=stage[new],
        sprayed=sprayed[new],
        meets=meets[new],
        drift_mm_per_s=drift,
        parting_mm_per_s=float(np.ptp(drift)),
    )


def looked_over(state: State, track: Track) -> StepLook:
    """Look at every can of a pack once, for a step."""
    found: StepLook = compiled(_looked_over)(
        state.place_mm,
        state.radius_mm,
        who_is_down(state.down_rad)[1],
        (state.travel_mm, float(state.period_mm)),
        (track.between, pieces_of(track), track.bounds_mm),
        (track.shaking.under_per_s, track.shaking.between_per_s),
    )
    return found


@kernel
def _remainder(value: float, period: float) -> float:
    return value if 0.0 <= value < period else value % period  # which takes as long as all else


@kernel
def _folded(place: Places, travel: float, period: float, start: float, stop: float) -> Floats:
    """Where each can of a slice meets the sprays of its stage."""
    sprayed = np.empty(len(place))
    for i in range(len(place)):
        off = _remainder(place[i].real, period) - period / 2.0
        folds = _remainder(travel - start + off, 2.0 * (stop - start))
        sprayed[i] = start + (stop - start) - abs((stop - start) - folds)
    return sprayed


@kernel
def those(asked: Bools) -> Indices:
    """Return the numbers of those asked, rising; without a branch, often guessed wrong."""
    found, count = np.empty(len(asked) + 1, np.uint32), 0
    for i in range(len(asked)):
        found[count] = i
        count += asked[i]
    return found[:count]


@kernel
def _looked_over(
    place: Places,
    radius: Floats,
    down: Ints,
    mat: tuple[float, float],
    line: tuple[Between, Pieces, Floats],
    rates: tuple[Floats, Floats],
) -> StepLook:
    (travel, period), (between, pieces, bounds) = mat, line
    station, at = np.empty(len(place)), stretch_at(pieces.ends_mm, travel, 0)
    # one thing after the other for all cans: what has no branch is done for many at once
    for i in range(len(place)):
        station[i] = place[i].real + travel
    sprayed, k = station, pieces.stage[at]
    if period > 0.0:
        station[:] = travel  # cans of a slice share one
        if k >= 0:
            sprayed = _folded(place, travel, period, bounds[k], bounds[k + 1])
    low, high, guide, outer = _at_guides(place, radius, station, between)
    stage, meets, runs = _on_pieces(sprayed, pieces, at if period > 0.0 else -1)
    for i in down:
        stage[i], meets[i] = -1, True
    return StepLook(
        station_mm=station,
        sprayed_mm=sprayed,
        low_mm=low,
        high_mm=high,
        guide=guide,
        outer=outer,
        stage=stage,
        meets=meets,
        ladder=_ladder(stage, down, runs, pieces.sprayed, rates),
    )


@kernel
def _at_guides(
    place: Places, radius: Floats, station: Floats, between: Between
) -> tuple[Floats, Floats, Indices, Indices]:
    """Limits of the cans that may meet a guide: low_mm, high_mm, guide and outer of `StepLook`."""
    begin, nominal, left, right, lows, highs = between
    near, guide = np.empty(len(place), np.bool_), np.empty(len(place), np.uint32)
    for i in range(len(place)):
        near[i] = (place[i].imag <= left) | (place[i].imag >= right)
    outer = those(near)
    low, high = np.empty(len(outer) + 1), np.empty(len(outer) + 1)
    guide[:], low[0], high[0] = 0, -math.inf, math.inf
    for k in range(len(outer)):
        i = outer[k]
        guide[i] = k + 1
        low[k + 1], high[k + 1] = limits_at(station[i], radius[i] - nominal, begin, lows, highs)
    return low, high, guide, outer


@kernel
def _on_pieces(
    sprayed: Floats, pieces: Pieces, shared: int
) -> tuple[Shorts, Bools, tuple[Ints, Ints]]:
    """Stage of every can, whether it meets others, and runs of cans on one piece of the line.

    The runs are told by the first can of each, and how many cans there are; and its piece. Stage
    and neighbours are those of the piece that is ``shared``, unless that is −1.
    """
    # by their own names: what is read out of a tuple inside a loop is counted in and out
    ends, of_piece, meeting, count = pieces.ends_mm, pieces.stage, pieces.meets, len(sprayed)
    stage, meets = np.empty(count, np.int16), np.empty(count, np.bool_)
    first, piece = np.empty(count + 1, np.int64), np.empty(count, np.int64)
    at, runs, after, until, k, asked = max(shared, 0), 0, math.inf, -math.inf, 0, False
    for i in range(count):
        x = sprayed[i]
        if x < after or x >= until:  # another run begins
            at = stretch_at(ends, x, at)
            after = ends[at - 1] if at > 0 else -math.inf
            until = ends[at] if at < len(ends) else math.inf
            here = at if shared < 0 else shared
            k, asked, first[runs], piece[runs] = of_piece[here], meeting[here], i, at
            runs += 1
        stage[i], meets[i] = k, asked
    first[runs] = count
    return stage, meets, (first[: runs + 1], piece[:runs])


@kernel
def _ladder(
    stage: Shorts, down: Ints, runs: tuple[Ints, Ints], sprayed: Bools, rates: tuple[Floats, Floats]
) -> Ladder:
    """Cut runs of cans on one piece each, first can and piece, at those that lie."""
    (under, dry), (start, piece), rungs, q = rates, runs, 0, 0
    most = len(piece) + 2 * len(down)
    first, stages = np.empty(most + 1, np.int64), np.empty(most, np.int64)
    rung = np.empty(most + 1)
    rung[0] = 0.0
    for run in range(len(piece)):
        i = start[run]
        while i < start[run + 1]:
            lies = q < len(down) and down[q] == i
            q += lies
            end = min(start[run + 1], down[q] if q < len(down) else start[run + 1])
            end, k = i + 1 if lies else end, stage[i]
            rate = 0.0 if k < 0 else under[k] if sprayed[piece[run]] else dry[k]
            first[rungs], stages[rungs] = i, k
            rung[rungs + 1] = rung[rungs] + (end - i) * rate
            i, rungs = end, rungs + 1
    first[rungs] = len(stage)
    return first[: rungs + 1], stages[:rungs], rung[: rungs + 1]
