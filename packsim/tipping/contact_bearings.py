"""Which cans cannot move at all: locally held by their contacts with cans and guides."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.tipping.neighbours import Around

HALF_TURN_TOL_RAD = 1e-6
"""A gap within this of a half turn is a half turn.

Contacts are known to `CONTACT_TOL_REL` of a diameter, so their bearings are no better than that.
"""


def largest_gap_rad(bearings_rad: ArrayLike) -> Floats:
    """Largest angle between neighbouring bearings, around the full turn [rad].

    Parameters
    ----------
    bearings_rad : array_like, shape (m,) or (m, n)
        Bearings of the contacts of one can, or of n cans in columns; NaN in unused places [rad].

    Returns
    -------
    ndarray, shape () or (n,)
        Largest gap; a full turn with one bearing or none [rad].

    Examples
    --------
    >>> float(np.degrees(largest_gap_rad(np.radians([0.0, 120.0, 240.0]))))
    120.0
    """
    bearings = np.sort(np.mod(np.asarray(bearings_rad, dtype=np.float64), 2.0 * math.pi), axis=0)
    if bearings.shape[0] == 0:
        return np.full(bearings.shape[1:], 2.0 * math.pi)
    last = np.fmax.reduce(bearings, axis=0)  # NaN sorts to the end, so the last may be NaN
    around_the_turn = np.where(np.isnan(last), 2.0 * math.pi, bearings[0] + 2.0 * math.pi - last)
    between = np.nan_to_num(np.diff(bearings, axis=0), nan=0.0).max(axis=0, initial=0.0)
    gap: Floats = np.maximum(between, around_the_turn)
    return gap


def contact_bearings_rad(what: Around, touch_mm: float) -> Floats:
    """Bearings of all contacts of each can, guides included [rad].

    Parameters
    ----------
    what : Around
        The surroundings of n cans.
    touch_mm : float
        Largest gap that counts as a contact [mm].

    Returns
    -------
    ndarray, shape (m + 2, n)
        Bearing from +x towards +y, NaN where there is no contact [rad]. A guide counts if at least
        one wire is below the can's top.
    """
    touching = what.power_mm2 <= touch_mm * (2.0 * what.diameter_mm + touch_mm)
    neighbours = np.where(touching, np.arctan2(what.y_mm, what.x_mm), np.nan)
    wired = any(z < what.height_mm for z in what.wire_heights_mm)
    right = np.where(wired & (what.right_gap_mm <= touch_mm), math.pi / 2.0, np.nan)
    left = np.where(wired & (what.left_gap_mm <= touch_mm), -math.pi / 2.0, np.nan)
    return np.vstack((neighbours, right, left))
