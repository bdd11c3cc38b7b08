"""Bring overlapping cans apart, between hard guides, without moving those that are free.

The cans of overlapping pairs wait in a list. Sweep by sweep each is taken from it, moved apart from
those it overlaps by half of the overlap each (Gauss and Seidel's way: the next can sees where the
last one went), and whoever moved waits again, until nobody does.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.pack.cells import to_nearest
from packsim.passage.near import Near

Listed = tuple[Ints, Ints, Floats, float]
"""Of a `Near`: begin, other, radius_mm, period_mm."""

TOLERANCE_MM = 0.02
"""Overlap at which two cans count as apart: 3e-4 of a diameter, below the roundness of a can."""

CAP = 160
"""Most sweeps in one call; a pack that needs more is jammed, and says so."""

_BEYOND = 0.25
"""Pairs are aimed this share of the tolerance beyond contact, so that the last step is not the
longest."""


@dataclass(frozen=True, slots=True, eq=False)
class Relaxed:
    """Outcome of a relaxation.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Centres after it [mm].
    overlap_mm : float
        Worst overlap left [mm]; at most the tolerance unless the cap was reached.
    worst : int
        A can of the worst pair, −1 where nothing overlaps.
    sweeps : int
        Sweeps through the waiting cans.
    """

    place_mm: Places
    overlap_mm: float
    worst: int
    sweeps: int


def relax(
    near: Near,
    place_mm: Places,
    low_mm: Floats,
    high_mm: Floats,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
    *,
    backwards: bool = False,
) -> Relaxed:
    """Bring cans apart.

    Parameters
    ----------
    near : Near
        Pairs within reach.
    place_mm : ndarray of complex128, shape (n,)
        Centres [mm]; not changed.
    low_mm, high_mm : ndarray, shape (n,)
        Least and greatest y of each can, where the guides are [mm].
    tolerance_mm : float
        Overlap that may remain [mm].
    cap : int
        Most sweeps.
    backwards : bool
        Whether the first sweep goes from the last can to the first.

    Returns
    -------
    Relaxed
        Centres between the guides, and what overlap is left.

    Notes
    -----
    Cans that touch nobody's overlap stay exactly where they are, and a pair's middle stays but for
    the guides. Every sweep goes the other way than the one before. Numbers rise across the mat, so
    a pack mirrored with its numbers turned round relaxes to the mirror image when its first sweep
    starts from the other end; `packsim.passage.step` starts from either end in turns.
    """
    x, y = place_mm.real.copy(), place_mm.imag.clip(low_mm, high_mm)
    listed = near.begin, near.other, near.radius_mm, near.period_mm
    worst, can, sweeps = compiled(_parted)(
        x, y, low_mm, high_mm, listed, float(tolerance_mm), cap, backwards
    )
    cut = low_mm - y
    if cut.size and cut.max() > worst:  # guides that stand closer than one can
        worst, can = float(cut.max()), int(cut.argmax())
    place = np.empty(x.size, dtype=np.complex128)
    place.real, place.imag = x, y
    return Relaxed(place, worst, can, sweeps)


@kernel
def _share(square: float, total: float, tolerance: float) -> float:
    """Share of the way between two cans that each of them goes back, 0 where they are apart."""
    if square >= (total - tolerance) ** 2:
        return 0.0
    apart = math.sqrt(square)
    return 0.5 * (total + _BEYOND * tolerance - apart) / max(apart, 1e-9)


@kernel
def _parted(
    x: Floats,
    y: Floats,
    low: Floats,
    high: Floats,
    listed: Listed,
    tolerance: float,
    cap: int,
    backwards: bool,
) -> tuple[float, int, int]:
    """Move cans apart; returns the worst overlap left, a can of it and the sweeps."""
    waits, later = np.zeros(len(x), np.bool_), np.empty(len(x), np.int64)
    tolerance *= 1.0 - 1e-9  # rounding must not leave what is just beyond it
    _find_overlapping(x, y, listed, tolerance, waits)
    queue, size, sweeps = np.empty(len(x), np.int64), 0, 0
    for k in range(len(x)):
        i = len(x) - 1 - k if backwards else k
        if waits[i]:
            queue[size] = i
            size += 1
    while size > 0 and sweeps < cap:
        size = _swept(x, y, low, high, listed, tolerance, backwards, queue[:size], waits, later)
        for k in range(size):
            queue[k] = later[size - 1 - k]
        sweeps, backwards = sweeps + 1, not backwards
    worst, can = _worst(x, y, listed, 0.9 * tolerance)  # that much is left nearly always
    if can < 0:
        worst, can = _worst(x, y, listed, 0.0)
    return worst, can, sweeps


@kernel
def _find_overlapping(x: Floats, y: Floats, listed: Listed, tolerance: float, waits: Bools) -> None:
    """Mark the cans that overlap by more than the tolerance."""
    begin, other, radius, period = listed
    for i in range(len(x)):
        for e in range(begin[i + 1] - 1, begin[i] - 1, -1):
            j = other[e]
            if j < i:
                break
            along, across = to_nearest(x[j] - x[i], period), y[j] - y[i]
            near = radius[i] + radius[j] - tolerance
            if along * along + across * across < near * near:
                waits[i] = waits[j] = True


@kernel
def _worst(x: Floats, y: Floats, listed: Listed, above: float) -> tuple[float, int]:
    """Worst overlap above some, and a can of the pair; −1 where none is."""
    begin, other, radius, period = listed
    worst, can = 0.0, -1
    for i in range(len(x)):
        for e in range(begin[i + 1] - 1, begin[i] - 1, -1):
            j = other[e]
            if j < i:
                break
            along, across = to_nearest(x[j] - x[i], period), y[j] - y[i]
            square, total = along * along + across * across, radius[i] + radius[j]
            if square < (total - above) ** 2:
                overlap = total - math.sqrt(square)
                if overlap > worst:
                    worst, can = overlap, i
    return worst, can


@kernel
def _swept(
    x: Floats,
    y: Floats,
    low: Floats,
    high: Floats,
    listed: Listed,
    tolerance: float,
    backwards: bool,
    queue: Ints,
    waits: Bools,
    later: Ints,
) -> int:
    """Sweep once through the queue; fills ``later`` with those to wait and returns how many."""
    begin, other, radius, period = listed
    size = 0
    for i in queue:
        waits[i] = moved = False
        first, last = begin[i], begin[i + 1] - 1
        for e in range(first, last + 1):
            j = other[first + last - e if backwards else e]
            along, across = to_nearest(x[j] - x[i], period), y[j] - y[i]
            share = _share(along * along + across * across, radius[i] + radius[j], tolerance)
            if share > 0.0:
                moved = True
                x[i], x[j] = x[i] - share * along, x[j] + share * along
                y[i] = min(max(y[i] - share * across, low[i]), high[i])
                y[j] = min(max(y[j] + share * across, low[j]), high[j])
                if not waits[j]:
                    waits[j] = True
                    later[size] = j
                    size += 1
        if moved and not waits[i]:
            waits[i] = True
            later[size] = i
            size += 1
    return size


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
