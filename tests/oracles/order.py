"""How hexagonal a pack is around each can."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.errors import InputError, positive
from tests.oracles.pairs import neighbour_pairs

__all__ = ["NEAR_REL", "Hexatic", "hexatic_order"]

NEAR_REL = 1.3
"""Neighbours stand within this many diameters: about midway between the ring of touching cans and
the second ring, which starts at √2 in a square pack and √3 in a hexagonal one."""


@dataclass(frozen=True, slots=True, eq=False)
class Hexatic:
    """Sixfold order of every can.

    Parameters
    ----------
    psi6 : ndarray of complex, shape (n,)
        Mean of e^(6 i θ) over the bearings θ of a can's neighbours; 0 for a can without any [-].
    neighbours : ndarray of int, shape (n,)
        How many neighbours it has.
    """

    psi6: NDArray[np.complex128]
    neighbours: NDArray[np.int64]

    @property
    def order(self) -> NDArray[np.float64]:
        """|ψ₆| of each can: 1 among hexagonal neighbours, 0 among square ones [-]."""
        return np.abs(self.psi6)

    @property
    def mean(self) -> float:
        """Mean of |ψ₆| over the cans; 0 without a can [-]."""
        return float(self.order.mean()) if len(self.psi6) else 0.0

    @property
    def aligned(self) -> float:
        """|mean of ψ₆|: 1 only where all lines run one way; 0 without a can [-]."""
        return float(abs(self.psi6.mean())) if len(self.psi6) else 0.0


def hexatic_order(
    centres_mm: NDArray[np.float64],
    diameter_mm: float,
    period_mm: float | None = None,
    reach_mm: float | None = None,
) -> Hexatic:
    """Measure the sixfold order around each can.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres [mm].
    diameter_mm : float
        Can diameter [mm].
    period_mm : float, optional
        Period along travel; None for none [mm].
    reach_mm : float, optional
        Cans no farther than this are neighbours; ``NEAR_REL`` diameters by default [mm].

    Returns
    -------
    Hexatic
        A fixed reach, not the six nearest: a can at a guide has only four neighbours, and is as
        well ordered as any if they stand where hexagonal neighbours would.

    Notes
    -----
    ψ₆ after D. R. Nelson and B. I. Halperin, Phys. Rev. B 19 (1979) 2457 (from memory).

    Examples
    --------
    >>> from packsim.pack.state import pack_between
    >>> pack = pack_between(1130.0, 66.0, state="slack")
    >>> round(hexatic_order(pack.centres_mm, 66.0, pack.length_mm).mean, 9)
    1.0
    """
    reach = NEAR_REL * positive("diameter_mm", diameter_mm) if reach_mm is None else reach_mm
    pairs, vectors = neighbour_pairs(centres_mm, reach, period_mm)
    bearing = vectors[:, 0] + 1j * vectors[:, 1]
    if (bearing == 0.0).any():
        raise InputError("centres_mm", "centres in one place", "centres apart from each other")
    # an even power: the same seen from either can
    six = np.tile((bearing / np.abs(bearing)) ** 6, 2)
    can, n = np.concatenate((pairs[:, 0], pairs[:, 1])), len(centres_mm)
    neighbours = np.bincount(can, minlength=n)
    total = np.empty(n, dtype=np.complex128)
    total.real, total.imag = np.bincount(can, six.real, n), np.bincount(can, six.imag, n)
    return Hexatic(total / np.maximum(neighbours, 1), neighbours)
