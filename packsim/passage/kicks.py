"""Kicks: who gets one within a step, and how it moves the can."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Indices, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.passage.record import PLACES
from packsim.passage.seen import Ladder
from packsim.passage.track import Between, Track, limits_at
from packsim.spray.catch import Each


@dataclass(frozen=True, slots=True, eq=False)
class StepKicks:
    """The kicks of one step, arrays of one length m.

    Parameters
    ----------
    can : ndarray of int64
        Who is kicked; a can may appear twice.
    stage : ndarray of int64
        In which stage.
    move_mm : ndarray of complex128
        Where the kick moves it to [mm].
    direction_rad : ndarray
        Direction of the kick [rad].
    energy_mJ : ndarray
        What the kick has to tip it with [mJ].
    """

    can: Ints
    stage: Ints
    move_mm: Places
    direction_rad: Floats
    energy_mJ: Floats


def draw_kicks(
    track: Track,
    ladder: Ladder,
    station_mm: Floats,
    tipped: Bools,
    dt_s: float,
    rng: np.random.Generator,
) -> StepKicks:
    """Draw the kicks of one step.

    Parameters
    ----------
    track : Track
        The line.
    ladder : Ladder
        How often cans are kicked.
    station_mm : ndarray, shape (n,)
        Where each can is along the line [mm].
    tipped : ndarray of bool, shape (n,)
        Cans that lie, which get none.
    dt_s : float
        Length of the step [s].
    rng : Generator
        Randomness.

    Returns
    -------
    StepKicks
        One entry per kick.

    Notes
    -----
    The sum of independent Poisson counts is Poisson, and who each kick falls on is then drawn by
    rate; the same distribution as a count for each can, at a fraction of the draws. A move is
    normal along both axes, so its direction is even; it is the direction of the kick too. A can
    that comes to a stage with a kick at its joint within the step gets that besides: energy as the
    others, about its own mean, direction even, and no move.
    """
    shaking, total = track.shaking, float(ladder[2][-1])
    count = int(rng.poisson(total * dt_s))
    rungs = rng.random(count)
    # kicks in the order of the cans are dealt forwards in memory, and nothing hangs on their order
    rungs.sort()
    rungs *= total
    along, across = rng.standard_normal(count), rng.standard_normal(count)
    drawn = along, across, rng.standard_exponential(count)
    each = shaking.step_mm, shaking.energy_mJ
    can, where, move, energy = compiled(_dealt)(rungs, ladder, drawn, each)
    kicks = StepKicks(can, where, move, np.arctan2(across, along), energy)
    return _with_joints(kicks, track, station_mm, tipped, dt_s, rng)


@kernel
def _dealt(
    rungs: Floats,
    ladder: Ladder,
    drawn: tuple[Floats, Floats, Floats],
    each: tuple[Floats, Floats],
) -> tuple[Ints, Ints, Places, Floats]:
    """Can, stage, move and energy of kicks, from rising places on the ladder and standard numbers.

    ``each`` is step_mm and energy_mJ of the stages. Runs of rate 0 are passed over: the rung behind
    them is the one before.
    """
    (along, across, strength), (step_mm, energy_mJ), (first, stage, rung) = drawn, each, ladder
    # numbers that are never below 0 are not looked at for that each time they are an index
    count, run, one, top = len(rungs), np.uint64(0), np.uint64(1), rung[len(rung) - 1]
    can, where = np.empty(count, np.int64), np.empty(count, np.int64)
    move, energy = np.empty(count, np.complex128), np.empty(count)
    for q in range(count):
        while rung[run + one] <= rungs[q] and rung[run + one] < top:
            run += one
        cans, wide = first[run + one] - first[run], rung[run + one] - rung[run]
        can[q] = first[run] + min(int(cans * ((rungs[q] - rung[run]) / wide)), cans - 1)
        where[q] = k = stage[run]
        move[q] = complex(along[q] * step_mm[k], across[q] * step_mm[k])
        energy[q] = strength[q] * energy_mJ[k]
    return can, where, move, energy


def _with_joints(
    kicks: StepKicks,
    track: Track,
    station_mm: Floats,
    tipped: Bools,
    dt_s: float,
    rng: np.random.Generator,
) -> StepKicks:
    """Add the kicks of cans that come to a joint within the step."""
    joint_mJ = track.shaking.joint_mJ
    if not joint_mJ.any():
        return kicks
    starts = track.bounds_mm[:-1]
    now = np.searchsorted(starts, station_mm, side="left")
    then = np.searchsorted(starts, station_mm + track.speed_mm_per_s * dt_s, side="left")
    can = np.flatnonzero((then > now) & ~tipped)
    can = can[joint_mJ[then[can] - 1] > 0.0]
    stage, count = then[can] - 1, can.size
    return StepKicks(
        np.concatenate((kicks.can, can)),
        np.concatenate((kicks.stage, stage)),
        np.concatenate((kicks.move_mm, np.zeros(count, dtype=np.complex128))),
        np.concatenate((kicks.direction_rad, rng.uniform(-np.pi, np.pi, count))),
        np.concatenate((kicks.energy_mJ, rng.standard_exponential(count) * joint_mJ[stage])),
    )


@kernel
def place_index(y_mm: Each, low_mm: Each, high_mm: Each, lane_mm: float) -> Each:
    """Index into `PLACES`: whether a can is within the first lane pitch of a guide."""
    left, right = y_mm - low_mm, high_mm - y_mm
    at_left = (left < lane_mm) & ((right >= lane_mm) | (left <= right))
    return (1 - at_left) * (1 + (right < lane_mm))


@kernel
def shaken(
    before: Places,
    kicks: tuple[Ints, Ints, Places],
    each: tuple[Floats, Floats, Indices, Indices, Bools],
    line: tuple[tuple[Ints, Ints], Floats, float],
    then: tuple[float, float, Floats, Between],
) -> tuple[Places, Indices, Ints, float]:
    """Move the kicked cans and let those that stand drift.

    Parameters
    ----------
    before : ndarray of complex128, shape (n,)
        Centres [mm].
    kicks : tuple
        Of `StepKicks`: can, stage, move_mm.
    each : tuple
        Of `StepLook`: low_mm, high_mm, guide, outer, meets. The first two are overwritten by the
        limits where the cans are then.
    line : tuple
        Cans and stages of the `Ladder`; drift of each stage within the step, and 0 for the outside,
        shape (k + 1,); pitch of a lane [mm].
    then : tuple
        After the step: travel and period of the state [mm], radii, and `Track.between`.

    Returns
    -------
    place : ndarray of complex128, shape (n,)
        Centres [mm].
    moved : ndarray of uint32, shape (m,)
        By rising number, one at least of every two cans that moved against each other and may
        touch, and who is not between its limits.
    counts : ndarray of int64, shape (k, 3)
        The kicks by stage and place.
    most : float
        The greatest way along an axis that any can is kicked [mm].
    """
    (can, inside, move), (low, high, guide, outer, meets) = kicks, each
    ((first, stage), drift, lane), count = line, len(before)
    travel, period, radius, (begin, nominal, _, _, lows, highs) = then
    counts = np.empty((len(drift) - 1, len(PLACES)), np.int64)
    place, asked, counts[:] = before.copy(), meets.copy(), 0
    moved, size, most = np.empty(count + 1, np.uint32), 0, 0.0
    for q in range(len(can)):
        who = np.uint64(can[q])  # a number that is never below 0 is not looked at for that
        at = guide[who]
        counts[inside[q], place_index(before[who].imag, low[at], high[at], lane)] += 1
        place[who], asked[who] = place[who] + move[q], True
        off = place[who] - before[who]
        most = max(most, abs(off.real), abs(off.imag))
    for run in range(len(stage)):
        by = drift[stage[run]]
        if by != 0.0:
            for i in range(first[run], first[run + 1]):
                place[i] = complex(place[i].real, place[i].imag + by)
    for k in range(len(outer)):  # nobody else gets to a guide within the step
        i, at = outer[k], k + 1
        x, y = travel if period > 0.0 else place[i].real + travel, place[i].imag
        low[at], high[at] = limits_at(x, radius[i] - nominal, begin, lows, highs)
        asked[i] |= (y < low[at]) | (y > high[at])
    for i in range(count):
        # without a branch, which would be guessed wrong too often
        moved[size] = i
        size += asked[i]
    return place, moved[:size], counts, most
