"""Which cans could meet soon: pairs listed once and used for many steps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Indices, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.pack.cells import Cells, gather, in_cells, to_nearest

SKIN_REL = 0.2
"""Pairs are listed out to this many diameters of gap.

In a close pack the second ring of neighbours is 0.73 diameters off, so a skin this wide lists no
pair more than a thin one would, and it takes many steps until cans have moved half of it.
"""


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Pairs of cans that could meet soon.

    Parameters
    ----------
    begin : ndarray of int64, shape (n + 1,)
        Neighbours of can i are entries begin[i] up to begin[i + 1] of ``other``.
    other : ndarray of uint32, shape (2 p,)
        Those neighbours, by rising number.
    radius_mm : ndarray, shape (n,)
        Radii [mm].
    seen_mm : ndarray of complex128, shape (n,)
        Where the cans were when the list was made [mm].
    cells : Cells
        They by where they were then; without those in nobody's way.
    skin_mm : float
        Largest gap listed [mm].
    period_mm : float
        Period along x, more than twice as long as a listed pair, 0 for none [mm].
    """

    begin: Ints
    other: Indices
    radius_mm: Floats
    seen_mm: Places
    cells: Cells
    skin_mm: float
    period_mm: float = 0.0

    def pairs(self) -> tuple[Ints, Ints]:
        """Return the two cans of each pair, the lower number first; in ascending order."""
        owner = np.repeat(np.arange(self.radius_mm.size), np.diff(self.begin))
        up = np.flatnonzero(self.other > owner)
        return owner[up], self.other[up].astype(np.int64)

    def sums_mm(self, first: Ints, second: Ints) -> Floats:
        """Return the sums of the radii of some pairs [mm]."""
        return np.asarray(self.radius_mm.take(first) + self.radius_mm.take(second))

    def vectors_mm(self, place_mm: Places, first: Ints, second: Ints) -> Places:
        """From the first to the second can of some pairs, for cans at ``place_mm`` [mm]."""
        vector = place_mm.take(second)
        vector -= place_mm.take(first)
        if self.period_mm > 0.0:
            vector -= self.period_mm * np.floor(vector.real / self.period_mm + 0.5)
        return vector

    def stale(self, place_mm: Places) -> bool:
        """Whether two cans may have come into reach unlisted."""
        if place_mm.shape != self.seen_mm.shape:
            return True
        # a rigid shift of all brings nobody closer; two cans approach by at most √2 × the spread
        spread = 2.0 * self.cells_now(place_mm).loose_mm
        return spread > self.skin_mm / math.sqrt(2.0)

    def cells_now(self, place_mm: Places) -> Cells:
        """Return the cells to look for the cans in, which are at ``place_mm`` by now [mm]."""
        moved, loose = compiled(_gone)(place_mm, self.seen_mm)
        return self.cells._replace(moved_mm=moved, loose_mm=loose)


@kernel
def _gone(place: Places, seen: Places) -> tuple[complex, float]:
    """How far the cans have gone, and by how much any of them more or less along either axis."""
    low_x = low_y = math.inf
    high_x = high_y = -math.inf
    for i in range(len(place)):
        off = place[i] - seen[i]
        low_x, high_x = min(low_x, off.real), max(high_x, off.real)
        low_y, high_y = min(low_y, off.imag), max(high_y, off.imag)
    if len(place) == 0:
        return 0j, 0.0
    loose = max(high_x - low_x, high_y - low_y) / 2.0
    return complex((low_x + high_x) / 2.0, (low_y + high_y) / 2.0), loose


def list_near(
    place_mm: Places,
    radius_mm: Floats,
    period_mm: float = 0.0,
    skin_rel: float = SKIN_REL,
    body: Ints | None = None,
) -> Near:
    """List the pairs of cans whose gap is at most a share of the largest diameter.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Centres [mm].
    radius_mm : ndarray, shape (n,)
        Radii [mm].
    period_mm : float
        Period along x, 0 for none [mm].
    skin_rel : float
        That share [-].
    body : ndarray of int64, shape (n,), optional
        Which body each disc belongs to, −1 for those in nobody's way; discs of one body are no
        pair. Every disc is its own by default.

    Returns
    -------
    Near
        In ascending order of the cans, so that arrays are read forwards.
    """
    largest = 2.0 * float(radius_mm.max(initial=0.0))
    skin = skin_rel * largest
    own = np.arange(place_mm.size) if body is None else body
    cells = compiled(in_cells)(place_mm, own >= 0, max(largest, 1.0), float(period_mm))
    begin, other = compiled(_listed)(place_mm, own, cells, largest + skin)
    return Near(begin, other, radius_mm, place_mm, cells=cells, skin_mm=skin, period_mm=period_mm)


@kernel
def _listed(place: Places, body: Ints, cells: Cells, cutoff: float) -> tuple[Ints, Indices]:
    """Where the neighbours of each disc begin, and the neighbours."""
    count = len(place)
    begin, found = np.zeros(count + 1, np.int64), np.empty(count, np.int64)
    other, total = np.empty(8 * count, np.uint32), 0
    for i in range(count):
        here = place[i]
        some = gather(cells, here.real, here.imag, cutoff, found) if body[i] >= 0 else 0
        if total + some > len(other):
            longer = np.empty(2 * len(other) + some, np.uint32)
            for e in range(total):  # a slice set to a slice takes seconds to compile
                longer[e] = other[e]
            other = longer
        for k in range(some):
            j = found[k]
            along = to_nearest(place[j].real - here.real, cells.period_mm)
            across = place[j].imag - here.imag
            square = along * along + across * across
            if body[j] != body[i] and square <= cutoff * cutoff:
                at = total
                while at > begin[i] and other[at - 1] > j:
                    other[at] = other[at - 1]
                    at -= 1
                other[at] = j
                total += 1
        begin[i + 1] = total
    return begin, other[:total].copy()
