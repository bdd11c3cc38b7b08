"""What cans take of nozzles: a number that only the distance of can and nozzle decides.

It is worked out once for each size and nozzle, and every row of nozzles is then looked up in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.spray.dose import band_mm
from packsim.spray.jets import Footprint

_CELL_MM: Final = 0.02  # of a table of doses by distance: far below what a drill does


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """What one can size takes of the nozzles of one side.

    Parameters
    ----------
    size, place : str
        Can size, and ``inside`` or ``top``.
    lines_mm : ndarray, shape (m,)
        Lines of can centres from the mat's left edge [mm].
    wander_mm : float
        How far the pack may ride off them, either way [mm].
    table_mm : ndarray
        The least a can catches of a nozzle at distances of 0, 0.02 mm, 0.04 mm ..., as a length
        (`caught_by_distance`) [mm].
    even_mm : float
        What each can would catch of a nozzle if its spray were spread evenly over the width of
        the pack and nothing went beside it [mm].
    mL_per_mm : float
        Dose of a can per length caught [mL/mm].
    weight : float
        How much a loss counts for this size [-].
    """

    size: str
    place: str
    lines_mm: Floats
    wander_mm: float
    table_mm: Floats
    even_mm: float
    mL_per_mm: float
    weight: float = 1.0

    @property
    def reach_mm(self) -> float:
        """Distance from which a can catches nothing of a nozzle [mm]."""
        return _CELL_MM * (len(self.table_mm) - 1)

    def points_mm(self, samples: int) -> Floats:
        """Return where cans may be: every line at each of some places within the wander [mm]."""
        off = np.linspace(-self.wander_mm, self.wander_mm, samples)
        return np.asarray((self.lines_mm[:, None] + off).ravel())

    def caught_mm(self, points_mm: Floats, nozzles_mm: Floats) -> Floats:
        """Return what cans at points catch of nozzles, shape of both broadcast [mm]."""
        return looked_up(self.table_mm, points_mm - nozzles_mm)

    def least_mL(self, nozzles_mm: Floats, samples: int = 41) -> float:
        """Return the least dose of any can under nozzles, all rows of them together [mL]."""
        points = self.points_mm(samples)
        caught = self.caught_mm(points[:, None], np.ravel(nozzles_mm)).sum(axis=1)
        return float(np.min(caught)) * self.mL_per_mm


def caught_by_distance(patch: Footprint, radius_mm: float, tolerance_mm: float) -> Floats:
    """Return the least a can catches of a nozzle, by the distance of the two across the mat.

    Parameters
    ----------
    patch : Footprint
        What the nozzle wets.
    radius_mm : float
        Radius of the can [mm].
    tolerance_mm : float
        How far the hole may be off its place, either way [mm].

    Returns
    -------
    ndarray
        At distances of 0, `_CELL_MM`, 2 `_CELL_MM` ... up to the reach of the spray, as a length:
        flow over mat speed times it is the dose (`packsim.spray.dose.band_mm`) [mm].
    """
    cells = int(np.ceil((patch.half_across_mm + radius_mm) / _CELL_MM)) + 2
    exact = band_mm(patch, np.arange(0, cells, 10) * _CELL_MM, radius_mm)
    table = np.interp(np.arange(cells), np.arange(0, cells, 10), exact)
    table[-1] = 0.0
    off = round(tolerance_mm / _CELL_MM)
    both = np.concatenate([table[off:0:-1], table, np.zeros(off)])
    near = np.lib.stride_tricks.sliding_window_view(both, 2 * off + 1)
    return np.asarray(near.min(axis=1))


def looked_up(table_mm: Floats, apart_mm: Floats) -> Floats:
    """Return what `caught_by_distance` says of cans and nozzles so far apart, either way [mm]."""
    cells = np.abs(apart_mm) / _CELL_MM + 0.5
    return np.asarray(table_mm[np.minimum(cells, len(table_mm) - 1).astype(np.int32)])


def share(demand: Demand, nozzles_mm: Floats, samples: int = 9) -> float:
    """Return the worst lane's share of an even spread: least dose over that of `even_mm` [-]."""
    least = demand.least_mL(nozzles_mm, samples) / demand.mL_per_mm
    return least / (np.size(nozzles_mm) * demand.even_mm)


def score(demands: Sequence[Demand], nozzles_mm: Floats, samples: int = 9) -> float:
    """Return the least share of any demand, losses times their weights [-].

    The share times what `Demand.even_mm` stands for is the worst lane's dose for a litre a minute.
    """
    return min(1.0 - d.weight * (1.0 - share(d, nozzles_mm, samples)) for d in demands)
