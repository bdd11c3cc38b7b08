"""How much of a can's outside wall faces a void, and how much its neighbours hide."""

import math

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.errors import non_negative
from packsim.pack.neighbours import neighbour_lists
from packsim.pack.state import Pack

REACH_GAP_MM = 2.0
"""Narrowest gap between two walls that a spray is taken to wash: assumed, no source."""


def hidden_half_angle_rad(
    diameter_mm: float, distance_mm: Floats | float, reach_gap_mm: float = REACH_GAP_MM
) -> Floats:
    """Half of the arc a neighbour hides: where the gap to it is narrower than a spray reaches.

    Parameters
    ----------
    diameter_mm : float
        Can diameter D [mm].
    distance_mm : ndarray or float
        Distance d of the two centres [mm].
    reach_gap_mm : float
        Narrowest gap that is washed [mm].

    Returns
    -------
    ndarray
        Half angle, acos((d − gap)/D), 0 when the neighbour is too far to hide anything [rad].

    Notes
    -----
    Derived here: at angle θ off the line of centres the walls are d − D cos θ apart, measured
    along that line.

    Examples
    --------
    >>> float(hidden_half_angle_rad(66.0, 66.0, 2.0)) * 180 / math.pi
    14.14
    """
    gap = non_negative("reach_gap_mm", reach_gap_mm)
    ratio = (np.asarray(distance_mm, dtype=np.float64) - gap) / diameter_mm
    return np.asarray(np.arccos(np.clip(ratio, -1.0, 1.0)), dtype=np.float64)


def exposed_share(pack: Pack, reach_gap_mm: float = REACH_GAP_MM) -> Floats:
    """Share of each can's circumference that a spray coming down the voids can wash.

    Parameters
    ----------
    pack : Pack
        The pack, periodic along travel.
    reach_gap_mm : float
        Narrowest gap between walls that is washed [mm].

    Returns
    -------
    ndarray, shape (n,)
        Share, 0 to 1 [-].

    Notes
    -----
    A screening model from contact geometry alone: each neighbour hides the arc where the gap is
    below ``reach_gap_mm``; arcs that overlap count once. A guide hides nothing, a wire is thin.
    A can in the perfect pack has six arcs and is exposed by 1 − 6·2θ/2π. Water that runs down a
    wall reaches more than this; it orders packs, it does not measure cleanness.
    """
    count = len(pack)
    if count == 0:
        return np.empty(0)
    reach = pack.diameter_mm + reach_gap_mm
    indptr, _, x, y = neighbour_lists(pack.centres_mm, reach, pack.length_mm)
    own = np.repeat(np.arange(count), np.diff(indptr))
    half = hidden_half_angle_rad(pack.diameter_mm, np.hypot(x, y), reach_gap_mm)
    return np.asarray(1.0 - _union(count, own, np.arctan2(y, x), half) / (2.0 * math.pi))


def _union(count: int, own: Ints, angle: Floats, half: Floats) -> Floats:
    """Length of the union of arcs round each can [rad], by a sweep over the sorted starts."""
    start = np.mod(angle - half, 2.0 * math.pi)
    end = start + 2.0 * half
    over = end > 2.0 * math.pi  # an arc across the zero direction is two
    can = np.concatenate([own, own[over]])
    low = np.concatenate([start, np.zeros(int(np.count_nonzero(over)))])
    high = np.concatenate([np.minimum(end, 2.0 * math.pi), end[over] - 2.0 * math.pi])
    order = np.lexsort((low, can))
    can, low, high = can[order], low[order], high[order]
    # keep every can's arcs on a stretch of its own, so that one running maximum serves all
    base = can * 8.0
    reached = np.maximum.accumulate(high + base) if len(can) else high
    before = np.concatenate([[-np.inf], reached[:-1]]) - base
    fresh = np.maximum(high - np.maximum(low, before), 0.0)
    return np.asarray(np.bincount(can, fresh, count), dtype=np.float64)
