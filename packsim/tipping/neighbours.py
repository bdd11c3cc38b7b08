"""What stands around each can: how far it can lean along a direction.

Neighbours are kept in columns, one per can, padded with far-away points, so that one direction for
all cans is a dozen array operations without a loop over cans.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.constants import CONTACT_TOL_REL
from packsim.tipping.wire_lean import wire_lean_rad

Component = float | Floats  # of a direction for all cans, or of one for each

FAR_MM = 1e9
"""Stands for "nobody there": beyond any mat."""


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """Neighbours and guides of n cans.

    Parameters
    ----------
    x_mm, y_mm : ndarray, shape (m, n)
        Vectors from each can to its neighbours, `FAR_MM` in unused places [mm].
    power_mm2 : ndarray, shape (m, n)
        d² − D² of each neighbour at distance d, its power about the can's centre [mm²].
    left_gap_mm, right_gap_mm : ndarray, shape (n,)
        Distance from can wall to each guide face [mm].
    diameter_mm, height_mm : float
        Can diameter D and height H [mm].
    wire_heights_mm : tuple of float
        Guide wire heights [mm].
    """

    x_mm: Floats
    y_mm: Floats
    power_mm2: Floats
    left_gap_mm: Floats
    right_gap_mm: Floats
    diameter_mm: float
    height_mm: float
    wire_heights_mm: tuple[float, ...]

    def take(self, cans: NDArray[np.intp] | slice) -> Around:
        """Return the same for some of the cans."""
        return replace(
            self,
            x_mm=self.x_mm[:, cans],
            y_mm=self.y_mm[:, cans],
            power_mm2=self.power_mm2[:, cans],
            left_gap_mm=self.left_gap_mm[cans],
            right_gap_mm=self.right_gap_mm[cans],
        )

    def __len__(self) -> int:
        return int(self.left_gap_mm.shape[0])


def around(
    indptr: NDArray[np.intp],
    vectors_mm: Floats,
    left_gap_mm: Floats,
    right_gap_mm: Floats,
    stance: Stance,
    wire_heights_mm: Sequence[float],
) -> Around:
    """Lay neighbour lists out in columns.

    Parameters
    ----------
    indptr, vectors_mm : ndarray, shapes (n + 1,) and (e, 2)
        Where each can's neighbours begin, and the vectors to them [mm].
    left_gap_mm, right_gap_mm, stance, wire_heights_mm
        As in `Around`; the can for its diameter and height.

    Returns
    -------
    Around
        With m the largest number of neighbours of one can.
    """
    counts = np.diff(indptr)
    n, most = counts.size, int(counts.max(initial=0))
    can = np.repeat(np.arange(n), counts)
    place = np.arange(can.size) - np.asarray(indptr)[can]
    x, y = np.full((2, most, n), FAR_MM)
    x[place, can], y[place, can] = vectors_mm.T
    return Around(
        x_mm=x,
        y_mm=y,
        power_mm2=x * x + y * y - stance.diameter_mm**2,
        left_gap_mm=left_gap_mm,
        right_gap_mm=right_gap_mm,
        diameter_mm=stance.diameter_mm,
        height_mm=stance.height_mm,
        wire_heights_mm=tuple(wire_heights_mm),
    )


def free_travel_mm(what: Around, ux: Component, uy: Component) -> Floats:
    """How far each can's disc moves along a direction before it meets a neighbour's [mm].

    Parameters
    ----------
    what : Around
        The surroundings of n cans.
    ux, uy : float or ndarray of shape (n,)
        Unit vector of the direction, one for all cans or one for each [-].

    Returns
    -------
    ndarray, shape (n,)
        Least over the neighbours of δ = a − √(D² − b²), with a the neighbour's distance along the
        direction and b off it; 0 for a can in contact, `FAR_MM` where nobody is in the way [mm].

    Notes
    -----
    D² − b² = a² − (d² − D²), so the power d² − D², which does not turn, saves a product and is
    exact for cans in contact. A neighbour that is only brushed (a below a millionth of D) does not
    count: along a common tangent two touching cans do not stop each other.
    """
    a: Floats = what.x_mm * ux + what.y_mm * uy
    inside = a * a - what.power_mm2
    travel = a - np.sqrt(np.maximum(inside, 0.0))
    travel[(inside <= 0.0) | (a <= CONTACT_TOL_REL * what.diameter_mm)] = FAR_MM
    least: Floats = travel.min(axis=0, initial=FAR_MM)
    return np.maximum(least, 0.0)


def lean_along_rad(what: Around, ux: Component, uy: Component) -> Floats:
    """Lean of each can along a direction before a neighbour or a wire stops it.

    Parameters
    ----------
    what, ux, uy
        As for `free_travel_mm`; y points from the left guide to the right one.

    Returns
    -------
    ndarray, shape (n,)
        Smallest of asin(δ / H) and the wire leans of both guides; π/2 where nothing stops it [rad].
    """
    lean = np.arcsin(np.minimum(1.0, free_travel_mm(what, ux, uy) / what.height_mm))
    toward = np.broadcast_to(np.asarray(uy, dtype=np.float64), lean.shape)
    for gap, cos_off in ((what.left_gap_mm, -toward), (what.right_gap_mm, toward)):
        near = np.flatnonzero((gap < what.height_mm) & (cos_off > 0.0))
        if near.size:
            wire = wire_lean_rad(gap[near], what.wire_heights_mm, what.height_mm, cos_off[near])
            lean[near] = np.minimum(lean[near], wire)
    return lean
