"""The pack laid out to be looked through: what a can meets in a direction, and how far off."""

import math
from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.passage.state import State
from packsim.passage.tipped import GONE, contact_mm, room_beside_mm
from packsim.passage.track import Track
from packsim.tipping.wires import overhang_mm


@dataclass(frozen=True, slots=True, eq=False)
class SortedPack:
    """The pack sorted along travel, to be looked through from any can in any direction.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Centres in the order of the state [mm].
    radius_mm, low_mm, high_mm : ndarray, shape (n,)
        Radii, and the y-range of each centre between the guides [mm].
    closed : ndarray of bool, shape (n,)
        Cans that give no way: tipped ones, and those beyond the ends of the line, where the pack
        goes on unseen.
    station_mm : ndarray, shape (n,)
        Where each can is along the line, for the sprays it is under [mm].
    sorted_x_mm, sorted_place_mm, sorted_can : ndarray, shape (m,)
        The same cans, images of a periodic slice included, by rising x.
    down_rad, towards : ndarray or None, shape (n,)
        How far tipped cans are down [rad], and unit directions they fell in; None where all stand.
    height_mm : float
        Height of a can, for those [mm].
    """

    place_mm: Places
    radius_mm: Floats
    low_mm: Floats
    high_mm: Floats
    closed: Bools
    station_mm: Floats
    sorted_x_mm: Floats
    sorted_place_mm: Places
    sorted_can: Ints
    down_rad: Floats | None = None
    towards: Places | None = None
    height_mm: float = 0.0

    def free_travel_mm(self, can: Ints, direction: Places, reach_mm: Floats) -> tuple[Floats, Ints]:
        """How far each can moves before it meets another one, and which.

        Parameters
        ----------
        can : ndarray of int64, shape (m,)
            Cans that move.
        direction : ndarray of complex128, shape (m,)
            Unit directions.
        reach_mm : ndarray, shape (m,)
            Nothing farther than this is looked for [mm].

        Returns
        -------
        travel_mm : ndarray, shape (m,)
            Free travel, 0 for cans that touch or overlap, infinite where nothing is in reach; to a
            tipped can that of the top edge, `packsim.passage.tipped.room_beside_mm` [mm].
        blocker : ndarray of int64, shape (m,)
            The can met, −1 for none.
        """
        who, entry = np.unique(can, return_inverse=True)
        other, vector, total = self._around(who, float(reach_mm.max()) + self.height_mm)
        other, total = other[entry], total[entry]
        vector = vector[entry] * direction.conj()[:, None]
        travel = contact_mm(vector.real, vector.imag, total)
        if self.down_rad is not None and self.towards is not None:
            down = (self.down_rad[other] > 0.0) & (total > 0.0)
            turned = (self.towards[other] * direction.conj()[:, None])[down]
            near, half = np.maximum(travel[down], 0.0), total[down] / 2.0
            lean = self.down_rad[other[down]]
            travel[down] = room_beside_mm(vector[down], near, turned, lean, half, self.height_mm)
        nearest = travel.argmin(axis=1)
        rows = np.arange(can.size)
        shortest = travel[rows, nearest]
        met = shortest <= reach_mm
        blocker = np.where(met, other[rows, nearest], -1)
        return np.where(met, np.maximum(shortest, 0.0), math.inf), blocker

    def _around(self, can: Ints, reach_mm: float) -> tuple[Ints, Places, Floats]:
        """Cans in reach of some cans, vectors to them and sums of radii, shape (m, most of any)."""
        here, radius = self.place_mm.take(can), self.radius_mm.take(can)
        wide = reach_mm + 2.0 * float(self.radius_mm.max())
        start = np.searchsorted(self.sorted_x_mm, here.real - wide)
        stop = np.searchsorted(self.sorted_x_mm, here.real + wide, side="right")
        slots = start[:, None] + np.arange(int((stop - start).max()))
        slots = np.minimum(slots, self.sorted_x_mm.size - 1)
        vector = self.sorted_place_mm[slots] - here[:, None]
        near = (np.abs(vector.imag) <= wide) & (slots < stop[:, None])
        near &= self.sorted_can[slots] != can[:, None]
        row, column = np.nonzero(near)
        count = near.sum(axis=1)
        place = np.arange(row.size) - np.repeat(np.cumsum(count) - count, count)
        shape = can.size, max(int(count.max()), 1)
        other, total = np.zeros(shape, dtype=np.int64), np.zeros(shape)  # no radius: never met
        vectors = np.ones(shape, dtype=np.complex128)
        other[row, place] = met = self.sorted_can[slots[row, column]]
        vectors[row, place] = vector[row, column]
        total[row, place] = self.radius_mm[met] + radius[row]
        return other, vectors, total

    def guide_gap_mm(self, can: Ints, direction: Places) -> Floats:
        """How far each can moves before it meets a guide [mm]."""
        across = direction.imag
        y = self.place_mm.imag.take(can)
        gap = np.where(across > 0.0, self.high_mm.take(can) - y, y - self.low_mm.take(can))
        steep = np.abs(across)
        free = np.full(can.shape, math.inf)
        np.divide(np.maximum(gap, 0.0), steep, out=free, where=steep > 1e-12)
        return free

    def guide_reach_mm(self, track: Track, can: Ints, direction: Places, stage: Ints) -> Floats:
        """How far each top can stand out over the guide its can leans on [mm]."""
        return guide_reach_mm(self.guide_gap_mm(can, direction), stage, track)

    def load(self, track: Track, can: Ints, direction_rad: Floats) -> tuple[Floats, Floats]:
        """Balance angle of each can where it is, and energy to it [rad], [mJ]."""
        y_mm = self.place_mm.imag.take(can)
        return track.standing.load.at(self.station_mm.take(can), y_mm, direction_rad)


def sorted_pack(
    place_mm: Places,
    radius_mm: Floats,
    low_mm: Floats,
    high_mm: Floats,
    period_mm: float = 0.0,
    closed: Bools | None = None,
    station_mm: Floats | None = None,
) -> SortedPack:
    """Sort a pack along travel, with one image on either side of a periodic slice.

    The stations are the places along travel where none are given.
    """
    can = np.arange(place_mm.size)
    place = place_mm
    if period_mm > 0.0:
        place = np.concatenate((place_mm - period_mm, place_mm, place_mm + period_mm))
        can = np.tile(can, 3)
    order = np.argsort(place.real, kind="stable")
    return SortedPack(
        place_mm=place_mm,
        radius_mm=radius_mm,
        low_mm=low_mm,
        high_mm=high_mm,
        closed=np.zeros(place_mm.size, dtype=np.bool_) if closed is None else closed,
        station_mm=place_mm.real if station_mm is None else station_mm,
        sorted_x_mm=np.ascontiguousarray(place.real[order]),
        sorted_place_mm=place[order],
        sorted_can=can[order],
    )


def laid_pack(
    state: State,
    height_mm: float,
    low_mm: Floats,
    high_mm: Floats,
    closed: Bools | None = None,
    station_mm: Floats | None = None,
) -> SortedPack:
    """Sort the pack of a state, tipped cans as they are down; parameters as for `sorted_pack`."""
    place, owner = state.discs_mm()
    shut = np.zeros(len(state), dtype=np.bool_) if closed is None else closed
    station = state.station_mm if station_mm is None else station_mm
    of = np.append(np.arange(len(state)), owner) if owner.size else slice(None)
    down = state.down_rad[of]
    laid = sorted_pack(
        place,
        state.radius_mm[of],
        low_mm[of],
        high_mm[of],
        state.period_mm,
        closed=shut[of] | (down > 0.0),
        station_mm=station[of],
    )
    if not state.tipped.any():
        return laid
    there = down[laid.sorted_can] != GONE
    return replace(
        laid,
        sorted_x_mm=laid.sorted_x_mm[there],
        sorted_place_mm=laid.sorted_place_mm[there],
        sorted_can=laid.sorted_can[there],
        down_rad=down,
        towards=np.exp(1j * state.fell_rad[of]),
        height_mm=height_mm,
    )


def guide_reach_mm(gap_mm: Floats, stage: Ints, track: Track) -> Floats:
    """How far a top can stand out over the guide its can leans on [mm]."""
    reach = np.empty(gap_mm.shape)
    height = track.standing.height_mm
    for k in np.unique(stage):
        here = stage == k
        reach[here] = overhang_mm(gap_mm[here], track.standing.wires_mm[k], height)
    return reach
