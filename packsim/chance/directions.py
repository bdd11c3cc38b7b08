"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel and load is needed by many marches; so the pack is laid out once for
each direction, and what a can meets and bears there is read from tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.pack.state import neighbour_pairs
from packsim.passage.tip import SortedPack
from packsim.passage.tipped import contact_mm
from packsim.passage.track import Track


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TurnedPack(SortedPack):
    """Copies of a pack, one for each of d directions: can i seen in direction k is k · n + i.

    Parameters
    ----------
    travel_mm, wall_mm : ndarray, shape (d · n,)
        Free travel of each can in the direction of its copy, infinite where nothing is met, and how
        far its top can stand out over the guide [mm].
    met : ndarray of int64, shape (d · n,)
        The can met, −1 for none.
    balance_rad, energy_mJ : ndarray, shape (d · n,)
        Balance angle in that direction, and energy to it [rad], [mJ].
    """

    travel_mm: Floats
    wall_mm: Floats
    met: Ints
    balance_rad: Floats
    energy_mJ: Floats

    def free_travel_mm(self, can: Ints, direction: Places, reach_mm: Floats) -> tuple[Floats, Ints]:
        """How far each can moves before it meets another one, and which, read from the tables."""
        travel = self.travel_mm.take(can)
        near = travel <= reach_mm
        return np.where(near, travel, math.inf), np.where(near, self.met.take(can), -1)

    def guide_reach_mm(self, track: Track, can: Ints, direction: Places, stage: Ints) -> Floats:
        """How far each top can stand out over the guide, read from the table [mm]."""
        return self.wall_mm.take(can)

    def load(self, track: Track, can: Ints, direction_rad: Floats) -> tuple[Floats, Floats]:
        """Balance angle of each can and energy to it, read from the tables [rad], [mJ]."""
        return self.balance_rad.take(can), self.energy_mJ.take(can)


def turned_pack(
    pack: SortedPack, track: Track, stage: int, turn_rad: Floats, period_mm: float
) -> TurnedPack:
    """Lay a standing pack out for some directions.

    Parameters
    ----------
    pack : SortedPack
        The pack, in which every can stands.
    track : Track
        The line.
    stage : int
        The stage it is in.
    turn_rad : ndarray, shape (d,)
        The directions [rad].
    period_mm : float
        Period of the slice, 0 for a whole line [mm].
    """
    n, d = pack.place_mm.size, turn_rad.size
    can, asked = np.tile(np.arange(n), d), np.repeat(turn_rad, n)
    balance, energy = pack.load(track, can, asked)
    wall = pack.guide_reach_mm(track, can, np.exp(1j * asked), np.full(can.size, stage))
    # no top moves farther out than at its balance
    reach = track.standing.height_mm * math.sin(float(balance.max()))
    travel, met = _met(pack, turn_rad, reach, period_mm)
    return TurnedPack(
        place_mm=np.tile(pack.place_mm, d),
        radius_mm=np.tile(pack.radius_mm, d),
        low_mm=np.tile(pack.low_mm, d),
        high_mm=np.tile(pack.high_mm, d),
        closed=np.tile(pack.closed, d),
        station_mm=np.tile(pack.station_mm, d),
        sorted_x_mm=pack.sorted_x_mm,
        sorted_place_mm=pack.sorted_place_mm,
        sorted_can=pack.sorted_can,
        travel_mm=travel,
        wall_mm=wall,
        met=met,
        balance_rad=balance,
        energy_mJ=energy,
    )


def _met(
    pack: SortedPack, turn_rad: Floats, reach_mm: float, period_mm: float
) -> tuple[Floats, Ints]:
    """Free travel of every can in every direction, and the copy of the can it meets."""
    place, radius = pack.place_mm, pack.radius_mm
    n, d = place.size, turn_rad.size
    cutoff = reach_mm + 2.0 * float(radius.max())
    points = np.column_stack((place.real, place.imag))
    pairs, vectors = neighbour_pairs(points, cutoff, period_mm or None)
    first, second = np.concatenate((pairs, pairs[:, ::-1])).T
    vector = np.concatenate((vectors, -vectors)) @ np.array([1.0, 1j])
    seen = vector * np.exp(-1j * turn_rad)[:, None]
    travel = contact_mm(seen.real, seen.imag, radius.take(first) + radius.take(second))
    turn, pair = np.nonzero(np.isfinite(travel))
    shortest, met = np.full(d * n, math.inf), np.full(d * n, -1)
    copy, gap = turn * n + first.take(pair), travel[turn, pair]
    order = np.argsort(-gap, kind="stable")  # the shortest is written last, and stays
    shortest[copy[order]] = np.maximum(gap[order], 0.0)
    met[copy[order]] = (turn * n + second.take(pair))[order]
    return shortest, met
