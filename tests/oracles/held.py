"""Which cans cannot move at all: locally held by their contacts with cans and guides."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.constants import CONTACT_TOL_REL
from packsim.errors import non_negative, positive
from packsim.pack.neighbours import neighbour_lists
from packsim.tipping.lean import HALF_TURN_TOL_RAD, largest_gaps_rad

__all__ = ["locally_held"]


def locally_held(
    centres_mm: NDArray[np.float64],
    diameter_mm: float,
    *,
    left_mm: ArrayLike,
    right_mm: ArrayLike,
    period_mm: float | None = None,
    touch_mm: float | None = None,
) -> NDArray[np.bool_]:
    """Tell which cans can move in no direction while the others stand still.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, x along travel, y across [mm].
    diameter_mm : float
        Can diameter D [mm].
    left_mm, right_mm : array_like, scalars or shape (n,)
        Guide faces, at each can if they are not straight [mm].
    period_mm : float, optional
        Length after which the pack repeats along x [mm].
    touch_mm : float, optional
        Largest gap that counts as a contact, `CONTACT_TOL_REL` D by default [mm].

    Returns
    -------
    ndarray of bool, shape (n,)
        True where the largest gap between contact bearings is less than a half turn.

    Notes
    -----
    Local jamming after [torquato2001]_: a disc
    is fixed by its contacts unless they lie in one half circle. Exactly a half turn is not held:
    the can slides along the common tangent. A held can leans nowhere (`packsim.tipping.lean`).
    """
    positive("diameter_mm", diameter_mm)
    touch = CONTACT_TOL_REL * diameter_mm if touch_mm is None else touch_mm
    non_negative("touch_mm", touch)
    y = centres_mm[:, 1]
    left = y - diameter_mm / 2.0 - np.asarray(left_mm, dtype=np.float64)
    right = np.asarray(right_mm, dtype=np.float64) - y - diameter_mm / 2.0
    indptr, _, x, across = neighbour_lists(centres_mm, diameter_mm + touch, period_mm)
    owner = [np.repeat(np.arange(len(y)), np.diff(indptr))]
    bearing = [np.arctan2(across, x)]
    for gap, way in ((left, -math.pi / 2.0), (right, math.pi / 2.0)):
        owner.append(np.flatnonzero(gap <= touch))
        bearing.append(np.full(owner[-1].size, way))
    gap = largest_gaps_rad(np.concatenate(owner), np.concatenate(bearing), len(y))
    held: NDArray[np.bool_] = gap < math.pi - HALF_TURN_TOL_RAD
    return held
