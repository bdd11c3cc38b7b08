"""Bring overlapping cans apart, between hard guides, without moving those that are free.

The overlaps are taken as the energy ½ Σ overlap², which accelerated gradient steps (Nesterov, with
a restart whenever a step runs uphill) bring down; each step is clipped to the guides. Only pairs at
or near contact take part, and they are looked up afresh until none overlaps by the tolerance.
"""

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.passage.near import Near

TOLERANCE_MM = 0.02
"""Overlap at which two cans count as apart: 3e-4 of a diameter, below the roundness of a can."""

CAP = 160
"""Most gradient steps in one call; a pack that needs more is jammed, and says so."""

_RATE = 0.4
"""Step length. The curvature of the energy is at most 6 (twice three directions of a close pack),
which allows 1/3 for sure; measured on kicked and on pushed packs, 0.4 needs the fewest steps."""

_INNER = 20
"""Gradient steps before the pairs near contact are looked up afresh."""

_MARGIN_MM = 0.1
"""Pairs this close to contact take part, because a neighbour's move may bring them to it."""

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
    steps : int
        Gradient steps taken.
    """

    place_mm: Places
    overlap_mm: float
    worst: int
    steps: int


def relax(
    near: Near,
    place_mm: Places,
    low_mm: Floats,
    high_mm: Floats,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
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
        Most gradient steps.

    Returns
    -------
    Relaxed
        Centres between the guides, and what overlap is left.

    Notes
    -----
    [nesterov1983]_; restart after [odonoghue2015]_ (both from memory). Cans that touch nobody's
    overlap stay exactly where they are. The momentum may carry a pair past contact by some 3 % of
    its overlap, 5 µm for a usual kick.
    """
    place = place_mm.copy()
    np.clip(place.imag, low_mm, high_mm, out=place.imag)
    near_mm = (near.sum_mm + _MARGIN_MM) ** 2
    bad_mm = (near.sum_mm - tolerance_mm) ** 2
    steps = 0
    while True:
        square = _square(near.vectors_mm(place))
        bad = np.flatnonzero(square < bad_mm)
        if steps >= cap or bad.size == 0:
            return _finished(near, place, square, low_mm, steps)
        pairs = np.flatnonzero(square < near_mm)
        if bad.size * 8 < pairs.size:
            pairs = pairs[_beside(near, pairs, bad, place.size)]
        steps += _descend(near, pairs, place, low_mm, high_mm, tolerance_mm)


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
    vector = near.vectors_mm(place_mm)
    touch = np.flatnonzero(_square(vector) < near.sum_mm**2)
    if friction == 0.0 or touch.size == 0:
        return place_mm
    first, second = near.first.take(touch), near.second.take(touch)
    vector = vector.take(touch)
    apart = np.abs(vector)
    along = 1j * vector / np.where(apart > 0.0, apart, 1.0)
    moved = place_mm - before_mm
    slid = ((moved.take(second) - moved.take(first)) * along.conj()).real
    most = friction * (near.sum_mm.take(touch) - apart)
    back = np.clip(slid, -most, most) * along / 2.0
    cans = np.concatenate((first, second))
    change = np.concatenate((back, -back))
    share = np.maximum(np.bincount(cans, minlength=place_mm.size), 1)
    sum_x = np.bincount(cans, change.real, place_mm.size)
    sum_y = np.bincount(cans, change.imag, place_mm.size)
    return np.asarray(place_mm + (sum_x + 1j * sum_y) / share)


def _square(vector: Places) -> Floats:
    square = vector.real**2
    square += vector.imag**2
    return np.asarray(square)


def _finished(near: Near, place: Places, square: Floats, low: Floats, steps: int) -> Relaxed:
    """Look for the worst overlap, guides that stand closer than one can included."""
    touch = np.flatnonzero(square < near.sum_mm**2)
    worst, can = 0.0, -1
    if touch.size:
        overlap = near.sum_mm.take(touch) - np.sqrt(square.take(touch))
        most = int(overlap.argmax())
        worst, can = float(overlap[most]), int(near.first[touch[most]])
    cut = low - place.imag
    if cut.size and cut.max() > worst:
        worst, can = float(cut.max()), int(cut.argmax())
    return Relaxed(place, worst, can, steps)


def _beside(near: Near, pairs: Ints, bad: Ints, count: int) -> Bools:
    """Which pairs share a can with a pair that overlaps: the others need not be asked yet."""
    mark = np.zeros(count, dtype=np.bool_)
    mark[near.first.take(bad)] = True
    mark[near.second.take(bad)] = True
    beside = mark.take(near.first.take(pairs))
    beside |= mark.take(near.second.take(pairs))
    return beside


def _descend(
    near: Near, pairs: Ints, place: Places, low: Floats, high: Floats, tolerance: float
) -> int:
    """Take up to `_INNER` accelerated steps on some pairs; moves ``place`` and counts the steps."""
    first, second = near.first.take(pairs), near.second.take(pairs)
    mark = np.zeros(place.size, dtype=np.bool_)
    mark[first] = True
    mark[second] = True
    cans = np.flatnonzero(mark)
    number = np.empty(place.size, dtype=np.int64)
    number[cans] = np.arange(cans.size)
    close = _CloseCans(
        first=number.take(first),
        second=number.take(second),
        sum_mm=near.sum_mm.take(pairs) + _BEYOND * tolerance,
        shift_mm=None if near.shift_mm is None else near.shift_mm.take(pairs),
        low_mm=low.take(cans),
        high_mm=high.take(cans),
    )
    here = place.take(cans)
    before, weight, goal = here, 1.0, (1.0 + _BEYOND) * tolerance
    steps = 0
    while steps < _INNER:
        steps += 1
        heavier = (1.0 + (1.0 + 4.0 * weight * weight) ** 0.5) / 2.0
        ahead = here + ((weight - 1.0) / heavier) * (here - before)
        moved, worst = close.push(ahead)
        if worst < goal:
            here = moved
            break
        uphill = ((ahead - moved) * (moved - here).conj()).real.sum() > 0.0
        weight = 1.0 if uphill else heavier
        before, here = here, moved
    place[cans] = here
    return steps


@dataclass(frozen=True, slots=True, eq=False)
class _CloseCans:
    """Some pairs and their cans, numbered among themselves."""

    first: Ints
    second: Ints
    sum_mm: Floats
    shift_mm: Floats | None
    low_mm: Floats
    high_mm: Floats

    def push(self, place: Places) -> tuple[Places, float]:
        """Return the places one gradient step on, and the worst overlap before it."""
        vector = place.take(self.second)
        vector -= place.take(self.first)
        if self.shift_mm is not None:
            vector += self.shift_mm
        square = _square(vector)
        touch = np.flatnonzero(square < self.sum_mm * self.sum_mm)
        moved = place.copy()
        worst = 0.0
        if touch.size:
            total = self.sum_mm.take(touch)
            apart = np.sqrt(square.take(touch))
            worst = float((total - apart).max())
            push = vector.take(touch)
            push *= _RATE * (total / np.maximum(apart, 1e-9) - 1.0)
            cans = np.concatenate((self.second.take(touch), self.first.take(touch)))
            both = np.concatenate((push, -push))
            moved.real += np.bincount(cans, both.real, place.size)
            moved.imag += np.bincount(cans, both.imag, place.size)
        np.clip(moved.imag, self.low_mm, self.high_mm, out=moved.imag)
        return moved, worst
