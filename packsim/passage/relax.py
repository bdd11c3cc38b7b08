"""Bring overlapping cans apart, between hard guides, without moving those that are free.

The cans of overlapping pairs wait in a list. Sweep by sweep each is taken from it, moved apart from
those it overlaps by half of the overlap each (Gauss and Seidel's way: the next can sees where the
last one went), and whoever moved waits again, until nobody does.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Indices, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.pack.cells import to_nearest
from packsim.passage.near import Near

Listed = tuple[Ints, Indices, Floats, float]
"""Of a `Near`: begin, other, radius_mm, period_mm."""

TOLERANCE_MM = 0.02
"""Overlap at which two cans count as apart: 3e-4 of a diameter, below the roundness of a can."""

CAP = 160
"""Most sweeps in one call; a pack that needs more is jammed, and says so."""

_BEYOND = 1.0
"""Pairs are aimed this share of the tolerance beyond contact: as far as they may stay short of it.

Contacts of a pressed pack are then right on the average: measured over some hundred steps they are
1 µm apart, where they overlap by 4 µm at a quarter; and a quarter of the moves is saved.
"""


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
    moved: Bools | None = None,
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
    moved : ndarray of bool, shape (n,), optional
        A can of every pair that may overlap by more; all by default. In a pack that was brought
        apart before, those that moved against their neighbours since.

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
    place = place_mm.copy()
    asked = np.ones(place.size, dtype=np.bool_) if moved is None else moved.copy()
    listed = near.begin, near.other, near.radius_mm, near.period_mm
    return Relaxed(
        place,
        *compiled(_parted)(
            place, low_mm, high_mm, listed, float(tolerance_mm), cap, backwards, asked
        ),
    )


def worst_overlap(near: Near, place_mm: Places) -> tuple[float, int]:
    """Return the worst overlap of listed pairs [mm] and a can of it, 0 and −1 where none is."""
    listed = near.begin, near.other, near.radius_mm, near.period_mm
    asked = np.ones(place_mm.size, dtype=np.bool_)
    found: tuple[float, int] = compiled(_worst)(place_mm, listed, 0.0, asked)
    return found


@kernel
def _parted(
    place: Places,
    low: Floats,
    high: Floats,
    listed: Listed,
    tolerance: float,
    cap: int,
    backwards: bool,
    asked: Bools,
) -> tuple[float, int, int]:
    """Move cans apart; returns the worst overlap left, a can of it and the sweeps.

    Whoever is moved is ``asked`` too from then on.
    """
    tolerance *= 1.0 - 1e-9  # rounding must not leave what is just beyond it
    queue, later = np.empty(len(place), np.int64), np.empty(len(place), np.int64)
    size, sweeps, cut, narrow = 0, 0, 0.0, -1
    for k in range(len(place)):
        i = len(place) - 1 - k if backwards else k
        y = place[i].imag
        if y < low[i] or y > high[i]:
            place[i], asked[i] = complex(place[i].real, min(max(y, low[i]), high[i])), True
            if low[i] - high[i] > cut:  # guides that stand closer than one can
                cut, narrow = low[i] - high[i], i
        if asked[i]:
            queue[size] = i
            size += 1
    waits = asked.copy()
    while size > 0 and sweeps < cap:
        size = _swept(place, low, high, listed, tolerance, backwards, queue[:size], waits, later)
        for k in range(size):
            queue[k] = later[size - 1 - k]
            asked[queue[k]] = True
        sweeps, backwards = sweeps + (size > 0), not backwards
    worst, can = _worst(place, listed, 0.9 * tolerance, asked)  # that much is left nearly always
    if can < 0:
        worst, can = _worst(place, listed, 0.0, asked)
    return (cut, narrow, sweeps) if cut > worst else (worst, can, sweeps)


@kernel
def _worst(place: Places, listed: Listed, above: float, asked: Bools) -> tuple[float, int]:
    """Worst overlap above some that a can asked has, and that can; −1 where none is."""
    begin, other, radius, period = listed
    worst, can = 0.0, -1
    for i in range(len(place)):
        if asked[i]:
            for e in range(begin[i], begin[i + 1]):
                j = other[e]
                if j > i or not asked[j]:
                    off, total = place[j] - place[i], radius[i] + radius[j]
                    along = to_nearest(off.real, period)
                    square = along * along + off.imag * off.imag
                    if square < (total - above) ** 2 and total - math.sqrt(square) > worst:
                        worst, can = total - math.sqrt(square), i
    return worst, can


@kernel
def _swept(
    place: Places,
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
        here, first, last = place[i], begin[i], begin[i + 1] - 1
        for e in range(first, last + 1):
            j = other[first + last - e if backwards else e]
            off, total = place[j] - here, radius[i] + radius[j]
            along = to_nearest(off.real, period)
            square = along * along + off.imag * off.imag
            if square < (total - tolerance) ** 2:
                moved, apart = True, math.sqrt(square)
                share = 0.5 * (total + _BEYOND * tolerance - apart) / max(apart, 1e-9)
                step = complex(share * along, share * off.imag)
                here, there = here - step, place[j] + step
                here = complex(here.real, min(max(here.imag, low[i]), high[i]))
                place[j] = complex(there.real, min(max(there.imag, low[j]), high[j]))
                if not waits[j]:
                    waits[j] = True
                    later[size] = j
                    size += 1
        if moved:
            place[i] = here
            if not waits[i]:
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
