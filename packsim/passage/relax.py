"""Bring overlapping cans apart, between hard guides, without moving those that are free.

The cans of overlapping pairs wait in a list. Sweep by sweep each is taken from it, moved apart from
those it overlaps by half of the overlap each (Gauss and Seidel's way: the next can sees where the
last one went), and whoever moved waits again, until nobody does.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Indices, Places
from packsim.compiled import compiled, kernel
from packsim.pack.cells import to_nearest
from packsim.pack.near import Near

Listed = tuple[Indices, Indices, Floats, float]
"""Of a `Near`: begin, other, radius_mm, period_mm."""

Limits = tuple[Floats, Floats, Indices]
"""Of `relax`: low_mm, high_mm, guide."""

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
        No two cans asked overlap by more [mm]; at most the tolerance unless the cap was reached,
        and then the worst overlap left.
    worst : int
        A can of that pair, −1 where nothing overlaps.
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
    guide: Indices | None = None,
    moved: Indices | None = None,
    in_place: bool = False,
) -> Relaxed:
    """Bring cans apart, and between the guides.

    Parameters
    ----------
    near : Near
        Pairs within reach.
    place_mm : ndarray of complex128, shape (n,)
        Centres [mm]; not changed, unless asked to.
    low_mm, high_mm : ndarray
        Least and greatest y of a can, where the guides are [mm].
    tolerance_mm : float
        Overlap that may remain [mm].
    cap : int
        Most sweeps.
    backwards : bool
        Whether the first sweep goes from the last can to the first.
    guide : ndarray of uint32, shape (n,), optional
        Place of each can in ``low_mm`` and ``high_mm``; its number by default.
    moved : ndarray of uint32, shape (m,), optional
        By rising number, a can of every pair that may overlap by more, and all that are not between
        their limits; all by default. In a pack that was brought apart before, those that moved
        against their neighbours or the guides since.
    in_place : bool
        Move the centres in the array that is given.

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
    moved = np.arange(place_mm.size, dtype=np.uint32) if moved is None else moved
    guide = np.arange(place_mm.size, dtype=np.uint32) if guide is None else guide
    place = place_mm if in_place else place_mm.copy()
    limits = low_mm, high_mm, guide
    listed = near.begin, near.other, near.radius_mm, near.period_mm
    return Relaxed(
        place,
        *compiled(_parted)(place, limits, listed, float(tolerance_mm), cap, backwards, moved),
    )


def worst_overlap(near: Near, place_mm: Places) -> tuple[float, int]:
    """Return the worst overlap of listed pairs [mm] and a can of it, 0 and −1 where none is."""
    listed = near.begin, near.other, near.radius_mm, near.period_mm
    found: tuple[float, int] = compiled(_worst)(place_mm, listed)
    return found


@kernel
def _parted(
    place: Places,
    limits: Limits,
    listed: Listed,
    tolerance: float,
    cap: int,
    backwards: bool,
    asked: Indices,
) -> tuple[float, int, int]:
    """Move cans apart; returns an overlap that no pair exceeds, a can of it and the sweeps."""
    tolerance *= 1.0 - 1e-9  # rounding must not leave what is just beyond it
    queue, later = np.empty(len(place), np.uint32), np.empty(len(place) + 1, np.uint32)
    waits = np.empty(len(place), np.bool_)
    waits[:], (low, high, guide) = False, limits
    size, sweeps, cut, narrow, worst, can = len(asked), 0, 0.0, -1, 0.0, -1
    for k in range(size):
        i = asked[size - 1 - k if backwards else k]
        queue[k], waits[i], y, at = i, True, place[i].imag, guide[i]
        if y < low[at] or y > high[at]:
            place[i] = complex(place[i].real, min(max(y, low[at]), high[at]))
            if low[at] - high[at] > cut:  # guides that stand closer than one can
                cut, narrow = low[at] - high[at], i
    while size > 0 and sweeps < cap:
        size, worst, can = _swept(
            place, limits, listed, tolerance, backwards, queue[:size], waits, later, (worst, can)
        )
        for k in range(size):
            queue[k] = later[size - 1 - k]
        sweeps, backwards = sweeps + (size > 0), not backwards
    if size > 0:
        worst, can = _worst(place, listed)
    return (cut, narrow, sweeps) if cut > worst else (worst, can, sweeps)


@kernel
def _worst(place: Places, listed: Listed) -> tuple[float, int]:
    """Worst overlap of all, and a can of it; −1 where none is."""
    begin, other, radius, period = listed
    worst, can = 0.0, -1
    for i in range(len(place)):
        for e in range(begin[i], begin[i + 1]):
            j = other[e]
            if j > i:
                off, total = place[j] - place[i], radius[i] + radius[j]
                along = to_nearest(off.real, period)
                square = along * along + off.imag * off.imag
                if square < (total - worst) ** 2:
                    worst, can = total - math.sqrt(square), i
    return worst, can


@kernel
def _swept(
    place: Places,
    limits: Limits,
    listed: Listed,
    tolerance: float,
    backwards: bool,
    queue: Indices,
    waits: Bools,
    later: Indices,
    known: tuple[float, int],
) -> tuple[int, float, int]:
    """Sweep once through the queue; fills ``later`` with those to wait and returns how many.

    ``known`` is the most that any pair looked at was left to overlap so far, and a can of it; it is
    returned too. Whoever moves is looked at again, so it bounds what is left when nobody waits.
    """
    (begin, other, radius, period), (low, high, guide) = listed, limits
    (worst, can), size = known, 0
    step_by = -1 if backwards else 1
    for i in queue:
        waits[i] = moved = False
        here, own = place[i], radius[i]
        first, end = np.int64(begin[i]), np.int64(begin[i + np.uint32(1)])
        e = end if backwards else first - 1
        for _ in range(end - first):
            # a number that is never below 0 is not looked at for that each time it is an index
            e = (e + step_by) & 0xFFFFFFFF
            j = other[e]
            off, total = place[j] - here, own + radius[j]
            along = to_nearest(off.real, period)
            square = along * along + off.imag * off.imag
            if square < (total - worst) ** 2:
                apart = math.sqrt(square)
                if square >= (total - tolerance) ** 2:
                    worst, can = total - apart, i
                    continue
                moved, share = True, 0.5 * (total + _BEYOND * tolerance - apart) / max(apart, 1e-9)
                step = complex(share * along, share * off.imag)
                here, there = here - step, place[j] + step
                at, by = guide[i], guide[j]
                here = complex(here.real, min(max(here.imag, low[at]), high[at]))
                place[j] = complex(there.real, min(max(there.imag, low[by]), high[by]))
                # without a branch, which would be guessed wrong as often as not
                later[size] = j
                size += not waits[j]
                waits[j] = True
        place[i] = here
        later[size] = i
        size += moved and not waits[i]
        waits[i] = waits[i] or moved
    return size, worst, can
