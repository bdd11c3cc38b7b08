"""Kicks: who gets one within a step, and how it moves the can."""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.compiled import kernel
from packsim.passage.record import PLACES
from packsim.passage.state import State
from packsim.passage.track import Track


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


def along_sprays_mm(state: State, track: Track, begin_mm: float = 0.0) -> Floats:
    """Return where along the line each can meets the sprays.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.
    begin_mm : float
        In a slice, how far its beginning is moved along its cans [mm].

    Returns
    -------
    ndarray, shape (n,)
        Its station; in a periodic slice, whose cans share one station, the place it would have in a
        pack as long as the slice about that station, folded back at the ends of the stage [mm].

    Notes
    -----
    With one place for all, whole rows would be under the edge of a header at once, and weak along
    travel together: tips between the edges came out 40 times too many. Folding keeps each can as
    long under every header as it would be.
    """
    station = state.station_mm
    if not state.period_mm:
        return station
    stage = track.stage_at[track.cell(station[:1])]
    if not stage.size or stage[0] < 0:
        return station
    start, stop = track.bounds_mm[stage[0] : stage[0] + 2]
    length = stop - start
    off = (state.x_mm + begin_mm) % state.period_mm - state.period_mm / 2.0
    return np.asarray(start + length - np.abs(length - (station - start + off) % (2.0 * length)))


def draw_kicks(
    track: Track,
    stage: Ints,
    station_mm: Floats,
    tipped: Bools,
    dt_s: float,
    rng: np.random.Generator,
    sprayed_mm: Floats | None = None,
) -> StepKicks:
    """Draw the kicks of one step.

    Parameters
    ----------
    track : Track
        The line.
    stage : ndarray of int64, shape (n,)
        Stage of each can, −1 for cans outside, which get none.
    station_mm : ndarray, shape (n,)
        Where each can is along the line [mm].
    tipped : ndarray of bool, shape (n,)
        Cans that lie, which get none either.
    dt_s : float
        Length of the step [s].
    rng : Generator
        Randomness.
    sprayed_mm : ndarray, shape (n,), optional
        Where each can meets the sprays, see `along_sprays_mm`; where it is by default [mm].

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
    shaking = track.shaking
    standing = np.where(tipped, -1, stage)
    sprayed = station_mm if sprayed_mm is None else sprayed_mm
    ladder = shaking.rate_per_s(standing, sprayed, summed=True)
    total = float(ladder[-1]) if ladder.size else 0.0
    count = int(rng.poisson(total * dt_s))
    # side="right" passes over cans of rate 0, which repeat the step before them; kicks in the order
    # of the cans are found and given forwards in memory, and nothing hangs on their order
    can = np.searchsorted(ladder, np.sort(rng.random(count)) * total, side="right")
    can = np.minimum(can, max(ladder.size - 1, 0))
    where = stage.take(can) if count else np.empty(0, dtype=np.int64)
    unit = np.empty(count, dtype=np.complex128)
    unit.real, unit.imag = rng.standard_normal(count), rng.standard_normal(count)
    energy = rng.standard_exponential(count) * shaking.energy_mJ.take(where)
    kicks = StepKicks(can, where, unit * shaking.step_mm.take(where), np.angle(unit), energy)
    return _with_joints(kicks, track, station_mm, tipped, dt_s, rng)


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
def place_index(y_mm: float, low_mm: float, high_mm: float, lane_mm: float) -> int:
    """Index into `PLACES`: whether a can is within the first lane pitch of a guide."""
    left, right = y_mm - low_mm, high_mm - y_mm
    if left < lane_mm and (right >= lane_mm or left <= right):
        return 0
    return 2 if right < lane_mm else 1


@kernel
def place_indices(place_mm: Places, low_mm: Floats, high_mm: Floats, lane_mm: float) -> Ints:
    """`place_index` of many cans; arrays of shape (n,)."""
    found = np.empty(len(place_mm), np.int64)
    for i in range(len(place_mm)):
        found[i] = place_index(place_mm[i].imag, low_mm[i], high_mm[i], lane_mm)
    return found


@kernel
def shaken(
    before: Places,
    down: Floats,
    kicks: tuple[Ints, Ints, Places],
    where: tuple[Floats, Ints, Floats, Floats],
    line: tuple[Floats, Floats, float, float],
) -> tuple[Places, Bools, Ints]:
    """Move the kicked cans and let those that stand drift.

    Parameters
    ----------
    before, down : ndarray, shape (n,)
        Centres as complex numbers, and how far each can is down [mm], [rad].
    kicks : tuple
        Of `StepKicks`: can, stage, move_mm.
    where : tuple
        Station, stage, and y-range between the guides of each can.
    line : tuple
        Drift of each stage within the step and 0 for the outside, shape (k + 1,); the k + 1 stage
        boundaries, pitch of a lane, and how far from each other cans may touch [mm].

    Returns
    -------
    place : ndarray of complex128, shape (n,)
        Centres [mm].
    moved : ndarray of bool, shape (n,)
        One at least of every two cans that moved against each other and may touch.
    counts : ndarray of int64, shape (k, 3)
        The kicks by stage and place.
    """
    (can, inside, move), (station, stage, low, high) = kicks, where
    drift, bounds, lane, reach = line
    place, moved = before.copy(), np.zeros(len(before), np.bool_)
    counts = np.zeros((len(bounds) - 1, len(PLACES)), np.int64)
    for q in range(len(can)):
        i = can[q]
        counts[inside[q], place_index(before[i].imag, low[i], high[i], lane)] += 1
        place[i], moved[i] = place[i] + move[q], True
    for i in range(len(place)):
        own = drift[stage[i]]
        if down[i] > 0.0:
            moved[i] = True
        else:
            place[i] = complex(place[i].real, place[i].imag + own)
        if stage[i] >= 0:  # who is outside is seen from the inside
            past, left = station[i] - bounds[stage[i]], bounds[stage[i] + 1] - station[i]
            if past < reach and drift[stage[i] - 1] != own:
                moved[i] = True
            if left < reach and drift[stage[i] + 1] != own:
                moved[i] = True
    return place, moved, counts
