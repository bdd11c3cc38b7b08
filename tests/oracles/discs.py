"""Hard discs in a periodic box by event chains: the ray cast of this package against physics.

The march from can to can that decides whether a kick tips one is also a sampling method of
statistical physics. Run in a periodic box it must give the pressures published for hard discs; this
module is that run, for tests and for whoever doubts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numba
import numpy as np
from numpy.typing import NDArray

from packsim.errors import InputError, positive
from packsim.passage.tipped import contact_mm

__all__ = ["Boxes", "close_packed_boxes", "event_chains", "row_boxes"]

Floats = NDArray[np.float64]

_contacts_mm = numba.vectorize(contact_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Boxes:
    """Independent periodic boxes of equal discs.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (b, n)
        Centres of n discs in each of b boxes, x + iy [mm].
    box_mm : tuple of float
        Periods along x and y [mm].
    diameter_mm : float
        Disc diameter [mm].
    """

    place_mm: NDArray[np.complex128]
    box_mm: tuple[float, float]
    diameter_mm: float

    @property
    def packing(self) -> float:
        """Share of the box the discs cover [-]."""
        disc = math.pi * self.diameter_mm**2 / 4.0
        return float(self.place_mm.shape[1] * disc / (self.box_mm[0] * self.box_mm[1]))


def close_packed_boxes(columns: int, rows: int, packing: float, boxes: int) -> Boxes:
    """Boxes of unit discs on a stretched close packing, ``columns`` : ``rows`` √3/2.

    Parameters
    ----------
    columns, rows : int
        Discs in a row, and an even number of rows.
    packing : float
        Share of the box that discs cover, below π/√12 [-].
    boxes : int
        Number of boxes, all alike.
    """
    if rows % 2 or rows < 2 or columns < 2:
        raise InputError("rows", (columns, rows), "two columns or more, and an even number of rows")
    if not 0.0 < packing < math.pi / math.sqrt(12.0):
        raise InputError("packing", packing, "above 0 and below π/√12")
    pitch = math.sqrt(math.pi / (2.0 * math.sqrt(3.0) * packing))
    column, row = np.meshgrid(np.arange(columns), np.arange(rows))
    x = (column + 0.5 * (row % 2)) * pitch
    y = row * pitch * math.sqrt(3.0) / 2.0
    place = (x + 1j * y).ravel()
    box = (columns * pitch, rows * pitch * math.sqrt(3.0) / 2.0)
    return Boxes(np.tile(place, (boxes, 1)), box, 1.0)


def row_boxes(count: int, filling: float, boxes: int) -> Boxes:
    """Boxes with one row of unit discs in a ring, which x-chains keep in line.

    Parameters
    ----------
    count : int
        Discs in the row.
    filling : float
        Share of the ring they fill, below 1 [-].
    boxes : int
        Number of boxes.
    """
    if not 0.0 < filling < 1.0:
        raise InputError("filling", filling, "above 0 and below 1")
    length = count / filling
    place = np.arange(count) * (length / count) + 0j
    return Boxes(np.tile(place, (boxes, 1)), (length, 10.0), 1.0)


def event_chains(
    boxes: Boxes,
    chain_mm: float,
    chains: int,
    rng: np.random.Generator,
    *,
    along: str = "xy",
) -> tuple[Boxes, Floats]:
    """Carry every box on by event chains and measure its compressibility factor.

    Parameters
    ----------
    boxes : Boxes
        Where to begin.
    chain_mm : float
        Total displacement of one chain [mm].
    chains : int
        Chains in each box.
    rng : Generator
        Randomness.
    along : {"xy", "x"}
        Chains along both axes in turn, or along x alone.

    Returns
    -------
    boxes : Boxes
        Afterwards.
    factor : ndarray, shape (chains, b)
        Z = P V / (N kT) as each chain of each box shows it [-].

    Notes
    -----
    A disc moves until it meets another, which moves on, until the displacements add up to
    ``chain_mm``. E. Bernard, W. Krauth, D. Wilson, Phys. Rev. E 80 (2009) 056704. The factor is the
    mean of (place of the last disc − place of the first) / chain length, distances across contacts
    included: M. Michel, S. Kapfer, W. Krauth, J. Chem. Phys. 140 (2014) 054116 (both from memory).
    """
    positive("chain_mm", chain_mm)
    place = boxes.place_mm.copy()
    factor = np.empty((chains, place.shape[0]))
    for k in range(chains):
        turned = along == "xy" and k % 2 == 1
        period = boxes.box_mm[::-1] if turned else boxes.box_mm
        # swapping the axes lets one routine push along x only
        view = _turned(place) if turned else place
        jumped = _chain(view, period, boxes.diameter_mm, chain_mm, rng)
        factor[k] = 1.0 + jumped / chain_mm
        place = _turned(view) if turned else view
    return Boxes(place, boxes.box_mm, boxes.diameter_mm), factor


def _turned(place: NDArray[np.complex128]) -> NDArray[np.complex128]:
    return np.asarray(place.imag + 1j * place.real, dtype=np.complex128)


def _chain(
    place: NDArray[np.complex128],
    period: tuple[float, float],
    diameter: float,
    chain_mm: float,
    rng: np.random.Generator,
) -> Floats:
    """Push one chain along +x in every box; moves ``place``, returns the sum of contact lengths."""
    boxes, count = place.shape
    moving = np.asarray(rng.integers(0, count, boxes), dtype=np.int64)
    left = np.full(boxes, chain_mm)
    jumped = np.zeros(boxes)
    open_ = np.arange(boxes)
    while open_.size:
        who = moving[open_]
        vector = place[open_] - place[open_, who][:, None]
        along = np.mod(vector.real, period[0])
        aside = vector.imag - period[1] * np.rint(vector.imag / period[1])
        along[np.arange(open_.size), who] = 0.0  # never its own obstacle
        travel = _contacts_mm(along, aside, diameter)
        # a disc pushed up to contact stays a rounding error inside it: behind, not in the way
        travel[travel < -0.5 * diameter] = math.inf
        met = travel.argmin(axis=1)
        rows = np.arange(open_.size)
        free = np.maximum(travel[rows, met], 0.0)
        going_on = free < left[open_]
        step = np.where(going_on, free, left[open_])
        place[open_, who] += step
        left[open_] -= step
        open_ = open_[going_on]
        moving[open_] = met[going_on]
        jumped[open_] += (along[rows, met] - free)[going_on]
    return jumped
