"""Which cans could meet soon: pairs listed once and used for many steps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Indices, Ints, Places, asked_again
from packsim.compiled import compiled, kernel
from packsim.pack.cells import Cells, in_cells, span, to_nearest

SKIN_REL = 0.2
"""Pairs are listed out to this many diameters of gap.

In a close pack the second ring of neighbours is 0.73 diameters off, so a skin this wide lists no
pair more than a thin one would, and it takes many steps until cans have moved half of it.
"""

_USUAL = 8
"""Neighbours of a disc there is room for at once; in a close pack it has six."""


_TOGETHER = 256
"""Cans looked at together for whether any went farther than those before."""


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Pairs of cans that could meet soon.

    Parameters
    ----------
    begin : ndarray of uint32, shape (n + 1,)
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

    begin: Indices
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
        return self.far(self.spread_mm(place_mm))

    def spread_mm(self, place_mm: Places) -> float:
        """By how much any has gone farther along an axis than another, now at ``place_mm``."""
        return 2.0 * _gone_since(place_mm, self.seen_mm)[1]

    def far(self, spread_mm: float) -> bool:
        """Whether cans that have gone by so much more or less along an axis may be in reach."""
        # a rigid shift of all brings nobody closer; two cans approach by at most √2 × the spread
        return spread_mm > self.skin_mm / math.sqrt(2.0)

    def cells_now(self, place_mm: Places) -> Cells:
        """Return the cells to look for the cans in, which are at ``place_mm`` by now [mm]."""
        moved, loose = _gone_since(place_mm, self.seen_mm)
        return self.cells._replace(moved_mm=moved, loose_mm=loose)


@asked_again
def _gone_since(place_mm: Places, seen_mm: Places) -> tuple[complex, float]:
    """`_gone`, where a step ends and where the next one begins."""
    return compiled(_gone)(place_mm, seen_mm)


@kernel
def _beyond(place: Places, seen: Places, low: complex, high: complex) -> int:
    """How often a can went less than one or more than the other along an axis."""
    count = 0
    for i in range(len(place)):
        x, y = place[i].real - seen[i].real, place[i].imag - seen[i].imag
        # without a branch, so that it is done for some at once
        count += (x < low.real) + (x > high.real) + (y < low.imag) + (y > high.imag)
    return count


@kernel
def _gone(place: Places, seen: Places) -> tuple[complex, float]:
    """How far the cans have gone, and by how much any of them more or less along either axis."""
    if len(place) == 0:
        return 0j, 0.0
    low, high = complex(math.inf, math.inf), complex(-math.inf, -math.inf)
    for begin in range(0, len(place), _TOGETHER):
        now, then = place[begin : begin + _TOGETHER], seen[begin : begin + _TOGETHER]
        if _beyond(now, then, low, high) > 0:
            for i in range(len(now)):
                off = now[i] - then[i]
                low = complex(min(low.real, off.real), min(low.imag, off.imag))
                high = complex(max(high.real, off.real), max(high.imag, off.imag))
    wide = high - low
    return (low + high) / 2.0, max(wide.real, wide.imag) / 2.0


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
    asked = place_mm, own, cells, largest + skin
    begin, other = compiled(_listed)(*asked, _USUAL * place_mm.size)
    if begin[-1] > other.size:  # discs that lie on each other
        begin, other = compiled(_listed)(*asked, int(begin[-1]))
    return Near(begin, other, radius_mm, place_mm, cells=cells, skin_mm=skin, period_mm=period_mm)


@kernel
def _listed(
    place: Places, body: Ints, cells: Cells, cutoff: float, room: int
) -> tuple[Indices, Indices]:
    """Where the neighbours of each disc begin, and the neighbours; none if the room is too small.

    Of any two, either both find the other or neither does.
    """
    # by their own names: a tuple of arrays handed on takes as long as a turn, and what is read out
    # of one inside a loop is counted in and out
    order, cell, columns, rows = cells.order, cells.begin, cells.columns, cells.rows
    corner, side, period = (cells.x_mm, cells.y_mm), (cells.wide_mm, cells.tall_mm), cells.period_mm
    count, square = len(place), cutoff * cutoff
    begin, near = np.empty(count + 1, np.uint32), np.empty(room + 1, np.uint32)
    begin[0] = 0
    # a number that is never below 0 is not looked at for that each time it is an index
    total, most = np.uint64(0), np.uint64(room)
    for i in range(count):
        here, own = place[i], body[i]
        low, high = span(here.imag, cutoff, corner[1], side[1], rows, 0.0)
        first, last = span(here.real, cutoff, corner[0], side[0], columns, period)
        for column in range(first, last + 1 if own >= 0 and high >= low else first):
            row = (column % columns if period > 0.0 else column) * rows
            for k in range(np.uint64(cell[row + low]), np.uint64(cell[row + high + 1])):
                who = np.uint64(order[k])
                off = place[who] - here
                along = to_nearest(off.real, period)
                # without a branch, which would be guessed wrong as often as not
                near[min(total, most)] = who
                found = (body[who] != own) & (along * along + off.imag * off.imag <= square)
                total += np.uint64(found)
        begin[i + 1] = total
    if total > most:
        return begin, near[:0]
    # a neighbour's neighbour is the disc itself: each tells those it found, and they list it
    other, at = np.empty(total, np.uint32), begin[:-1].copy()
    for j in range(count):
        for e in range(begin[j], begin[j + 1]):
            i = near[e]
            other[at[i]] = j
            at[i] += 1
    return begin, other
