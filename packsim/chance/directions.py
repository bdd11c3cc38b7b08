"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel is needed by many marches; so the pack is laid out once for each
direction, and what a can meets there is read from tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.pack.neighbours import neighbour_pairs
from packsim.passage.laid import SortedPack
from packsim.passage.tipped import contact_mm
from packsim.passage.track import Track


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TurnedPack(SortedPack):
    """A standing pack of n cans, once for each of d directions and each of s places on the line.

    Can i seen in direction j at place k has the number (k · d + j) · n + i.

    Parameters
    ----------
    place_mm, radius_mm, low_mm, high_mm, closed, station_mm : ndarray
        As in `SortedPack`.
    sorted_x_mm, sorted_place_mm, sorted_can, down_rad, towards, height_mm
        As in `SortedPack`.
    travel_mm, wall_mm : ndarray, shape (d · n,)
        Free travel of each can in each direction, infinite where nothing is met, and how far its
        top can stand out over the guide [mm].
    met : ndarray of int64, shape (d · n,)
        The can met, by its number at the first place; −1 for none.
    along_mm : ndarray, shape (s · n,)
        Where each can is along the line [mm].
    """

    travel_mm: Floats
    wall_mm: Floats
    met: Ints
    along_mm: Floats

    def free_travel_mm(self, can: Ints, direction: Places, reach_mm: Floats) -> tuple[Floats, Ints]:
        """How far each can moves before it meets another one, and which, read from the tables."""
        here = can % self.met.size
        travel = self.travel_mm.take(here)
        near = travel <= reach_mm
        blocker = np.where(near, self.met.take(here) + (can - here), -1)
        return np.where(near, travel, math.inf), blocker

    def guide_reach_mm(self, track: Track, can: Ints, direction: Places, stage: Ints) -> Floats:
        """How far each top can stand out over the guide, read from the table [mm]."""
        return self.wall_mm.take(can % self.met.size)

    def load(self, track: Track, can: Ints, direction_rad: Floats) -> tuple[Floats, Floats]:
        """Balance angle of each can where it is, and energy to it [rad], [mJ]."""
        y_mm = self.place_mm.imag.take(can % self.place_mm.size)
        return track.standing.load.at(self.x_mm(can), y_mm, direction_rad)

    def x_mm(self, can: Ints) -> Floats:
        """Where each can is along the line [mm]."""
        n = self.place_mm.size
        return self.along_mm.take(can // self.met.size * n + can % n)


def turned_pack(
    pack: SortedPack,
    track: Track,
    stage: int,
    turn_rad: Floats,
    along_mm: Floats,
    period_mm: float,
) -> TurnedPack:
    """Lay a standing pack out for some directions and places on the line.

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
    along_mm : ndarray, shape (s, n)
        Where the cans are along the line, for the sprays they are under [mm].
    period_mm : float
        Period of the slice, 0 for a whole line [mm].

    Returns
    -------
    TurnedPack
        Its tables filled for every direction.
    """
    n, d = pack.place_mm.size, turn_rad.size
    can, asked = np.tile(np.arange(n), d), np.repeat(turn_rad, n)
    load = track.standing.load
    most_rad = max(float(load.rest.real.max()), float(load.values.real.max(initial=0.0)))
    # no top moves farther out than at its balance; the grid is read a little above its nodes
    reach = 1.05 * track.standing.height_mm * math.sin(most_rad)
    travel, met = _met(pack, turn_rad, reach, period_mm)
    parts = {name: getattr(pack, name) for name in SortedPack.__slots__}
    return TurnedPack(
        **parts | {"closed": np.zeros(along_mm.size * d, dtype=np.bool_)},
        travel_mm=travel,
        wall_mm=pack.guide_reach_mm(track, can, np.exp(1j * asked), np.full(can.size, stage)),
        met=met,
        along_mm=along_mm.ravel(),
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
