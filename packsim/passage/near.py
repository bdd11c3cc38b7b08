"""Which cans could meet soon: pairs listed once and used for many steps."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.pack.neighbours import neighbour_pairs

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
    first, second : ndarray of int64, shape (p,)
        The two cans of each pair.
    sum_mm : ndarray, shape (p,)
        Sum of their radii [mm].
    shift_mm : ndarray, shape (p,), or None
        What to add to x of the second in a periodic slice [mm]; None on a whole line.
    seen_mm : ndarray of complex128, shape (n,)
        Where the cans were when the list was made [mm].
    skin_mm : float
        Largest gap listed [mm].
    """

    first: Ints
    second: Ints
    sum_mm: Floats
    shift_mm: Floats | None
    seen_mm: Places
    skin_mm: float

    def vectors_mm(self, place_mm: Places) -> Places:
        """From the first to the second can of each pair, for cans at ``place_mm`` [mm]."""
        vector = place_mm.take(self.second)
        vector -= place_mm.take(self.first)
        if self.shift_mm is not None:
            vector += self.shift_mm
        return vector

    def only(self, mask: Bools) -> Near:
        """Return the list with only some of its pairs."""
        shift = None if self.shift_mm is None else self.shift_mm[mask]
        first, second, total = self.first[mask], self.second[mask], self.sum_mm[mask]
        return replace(self, first=first, second=second, sum_mm=total, shift_mm=shift)

    def stale(self, place_mm: Places) -> bool:
        """Whether two cans may have come into reach unlisted."""
        if place_mm.shape != self.seen_mm.shape:
            return True
        moved = place_mm - self.seen_mm
        far = max(np.ptp(moved.real), np.ptp(moved.imag)) if moved.size else 0.0
        # a rigid shift of all brings nobody closer; two cans approach by at most √2 × the spread
        return bool(far > self.skin_mm / np.sqrt(2.0))


def list_near(
    place_mm: Places, radius_mm: Floats, period_mm: float = 0.0, skin_rel: float = SKIN_REL
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

    Returns
    -------
    Near
        In ascending order of the cans, so that arrays are read forwards.
    """
    none = np.empty(0, dtype=np.int64)
    if place_mm.size < 2:
        return Near(
            first=none,
            second=none,
            sum_mm=np.empty(0),
            shift_mm=None,
            seen_mm=place_mm,
            skin_mm=np.inf,
        )
    largest = 2.0 * float(radius_mm.max())
    skin = skin_rel * largest
    points = np.column_stack((place_mm.real, place_mm.imag))
    pairs, vectors = neighbour_pairs(points, largest + skin, period_mm or None)
    order = np.argsort(pairs[:, 0] * np.int64(place_mm.size) + pairs[:, 1], kind="stable")
    first, second = pairs[order, 0], pairs[order, 1]
    shift = None
    if period_mm > 0.0:
        apart = place_mm.real.take(second) - place_mm.real.take(first)
        shift = np.rint((vectors[order, 0] - apart) / period_mm) * period_mm
    first, second = np.ascontiguousarray(first), np.ascontiguousarray(second)
    return Near(
        first=first,
        second=second,
        sum_mm=radius_mm.take(first) + radius_mm.take(second),
        shift_mm=shift,
        seen_mm=place_mm,
        skin_mm=skin,
    )
