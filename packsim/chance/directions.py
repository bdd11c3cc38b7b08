"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel is needed by many marches; so the pack is laid out once for each
direction, and a can's travel and the can it meets are read from a table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.pack.state import neighbour_pairs
from packsim.passage.tip import SortedPack
from packsim.passage.tipped import contact_mm


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TurnedPack(SortedPack):
    """Copies of a pack, one for each of d directions: can i seen in direction k is k · n + i.

    Parameters
    ----------
    travel_mm : ndarray, shape (d · n,)
        Free travel of each can in the direction of its copy, infinite where nothing is met [mm].
    met : ndarray of int64, shape (d · n,)
        The can met, −1 for none.
    """

    travel_mm: Floats
    met: Ints

    def free_travel_mm(self, can: Ints, direction: Places, reach_mm: Floats) -> tuple[Floats, Ints]:
        """How far each can moves before it meets another one, and which, read from the tables."""
        travel = self.travel_mm.take(can)
        near = travel <= reach_mm
        return np.where(near, travel, math.inf), np.where(near, self.met.take(can), -1)


def turned_pack(
    pack: SortedPack, turn_rad: Floats, reach_mm: float, period_mm: float
) -> TurnedPack:
    """Lay a pack out for some directions.

    Parameters
    ----------
    pack : SortedPack
        The pack.
    turn_rad : ndarray, shape (d,)
        The directions [rad].
    reach_mm : float
        Nothing farther than this is looked for [mm].
    period_mm : float
        Period of the slice, 0 for a whole line [mm].
    """
    place, radius = pack.place_mm, pack.radius_mm
    n, d = place.size, turn_rad.size
    points = np.column_stack((place.real, place.imag))
    cutoff = reach_mm + 2.0 * float(radius.max())
    pairs, vectors = neighbour_pairs(points, cutoff, period_mm or None)
    first, second = np.concatenate((pairs, pairs[:, ::-1])).T
    vector = np.concatenate((vectors, -vectors)) @ np.array([1.0, 1j])
    order = np.argsort(first, kind="stable")
    first, second, vector = first[order], second[order], vector[order]
    count = np.bincount(first, minlength=n)
    column = np.arange(first.size) - np.repeat(np.cumsum(count) - count, count)
    wide = max(int(count.max(initial=0)), 1)
    other = np.full((n, wide), -1)
    other[first, column] = second
    away, total = np.full((n, wide), complex(-1e9, 0.0)), np.ones((n, wide))
    away[first, column] = vector
    total[first, column] = radius[first] + radius[second]
    seen = away * np.exp(-1j * turn_rad)[:, None, None]
    travel = contact_mm(seen.real, seen.imag, total)
    nearest = travel.argmin(axis=2)[:, :, None]
    shortest = np.take_along_axis(travel, nearest, axis=2)[:, :, 0]
    blocker = np.take_along_axis(np.broadcast_to(other, travel.shape), nearest, axis=2)[:, :, 0]
    met = np.where(np.isfinite(shortest), blocker + n * np.arange(d)[:, None], -1)
    return TurnedPack(
        place_mm=np.tile(place, d),
        radius_mm=np.tile(radius, d),
        low_mm=np.tile(pack.low_mm, d),
        high_mm=np.tile(pack.high_mm, d),
        closed=np.tile(pack.closed, d),
        station_mm=np.tile(pack.station_mm, d),
        sorted_x_mm=pack.sorted_x_mm,
        sorted_place_mm=pack.sorted_place_mm,
        sorted_can=pack.sorted_can,
        travel_mm=np.maximum(shortest, 0.0).ravel(),
        met=met.ravel(),
    )
