"""The pack laid out to be looked through: what a can meets in a direction, and how far off."""

import cmath
import math
from typing import NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats, Indices, Ints, Places, asked_again
from packsim.compiled import compiled, kernel
from packsim.pack.cells import Cells, gather, in_cells, to_nearest
from packsim.passage.state import State
from packsim.passage.tipped import GONE, contact_mm, room_beside_mm, who_is_down
from packsim.tipping.worst_direction import Row, at_wire_mm


class SortedPack(NamedTuple):
    """The pack sorted into cells, to be looked through from any can in any direction.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Centres in the order of the state [mm].
    radius_mm : ndarray, shape (n,)
        Radii [mm].
    low_mm, high_mm : ndarray
        y-ranges of centres between the guides [mm].
    closed : ndarray of bool, shape (n,)
        Cans that give no way: tipped ones, and those beyond the ends of the line, where the pack
        goes on unseen.
    station_mm : ndarray, shape (n,)
        Where each can is along the line, for the sprays it is under [mm].
    cells : Cells
        The cans that stand in the way.
    down_rad, fell_rad : ndarray, shape (n,)
        How far tipped cans are down, 0 for those that stand, and directions they fell in [rad].
    height_mm : float
        Height of a can, 0 where all stand [mm].
    largest_mm : float
        Largest radius [mm].
    travel_mm : ndarray, shape (d · n,)
        Free travels in d directions, looked up beforehand; of no length where they are not [mm].
    met : ndarray of uint32, shape (d · n,)
        The can met there, n for none.
    give_mm : ndarray, shape (d · n,)
        Most that the top of a can can move there, whoever is met moving on: a bound [mm].
    guide : ndarray of uint32, shape (n,)
        Place of each can in ``low_mm`` and ``high_mm``.
    """

    place_mm: Places
    radius_mm: Floats
    low_mm: Floats
    high_mm: Floats
    closed: Bools
    station_mm: Floats
    cells: Cells
    down_rad: Floats
    fell_rad: Floats
    height_mm: float
    largest_mm: float
    travel_mm: Floats
    met: Indices
    give_mm: Floats
    guide: Indices

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
        found: tuple[Floats, Ints] = compiled(_free_travels)(self, can, direction, reach_mm)
        return found

    def to_guide_mm(self, can: int, direction_rad: float) -> float:
        """Return how far a can is from the guide along a direction, infinite along the mat [mm]."""
        across = math.sin(direction_rad)
        y, at = self.place_mm[can].imag, self.guide[can]
        wall = float(self.high_mm[at] - y if across > 0.0 else y - self.low_mm[at])
        return max(wall, 0.0) / abs(across) if abs(across) > 1e-12 else math.inf

    def out_at_guide_mm(
        self, can: int, direction_rad: float, wires: Row, height_mm: float
    ) -> float:
        """Return how far the top of a can gets out before a guide wire stops it [mm].

        The height where none does; see `packsim.tipping.gathered_slack.overhang_mm`.
        """
        away = self.to_guide_mm(can, direction_rad)
        return over_guide_mm(away, 1.0, wires, height_mm) if away < height_mm else height_mm


@kernel
def _free_travels(
    pack: SortedPack, can: Ints, direction: Places, reach: Floats
) -> tuple[Floats, Ints]:
    travel, blocker = np.empty(len(can)), np.empty(len(can), np.int64)
    around = np.empty(len(pack.place_mm), np.int64)
    for q in range(len(can)):
        travel[q], blocker[q] = first_met(pack, can[q], direction[q], reach[q], around)
    return travel, blocker


@kernel
def first_met(
    pack: SortedPack, can: int, direction: complex, reach_mm: float, around: Ints
) -> tuple[float, int]:
    """How far one can moves before it meets another, and which; see `SortedPack.free_travel_mm`.

    ``around`` has room for all cans.
    """
    here, period = pack.place_mm[can], pack.cells.period_mm
    wide = reach_mm + pack.height_mm + 2.0 * pack.largest_mm
    images = 1 if 0.0 < period < 2.0 * wide else 0
    best, blocker = math.inf, -1
    for k in range(gather(pack.cells, here.real, here.imag, wide, around)):
        j = around[k]
        if j != can:
            total = pack.radius_mm[can] + pack.radius_mm[j]
            across = pack.place_mm[j].imag - here.imag
            along = to_nearest(pack.place_mm[j].real - here.real, period)
            for image in range(-images, images + 1):
                vector = complex(along + image * period, across) * direction.conjugate()
                travel = contact_mm(vector.real, vector.imag, total)
                if pack.down_rad[j] > 0.0:
                    fell = cmath.exp(1j * pack.fell_rad[j]) * direction.conjugate()
                    near, lean = max(travel, 0.0), pack.down_rad[j]
                    travel = room_beside_mm(vector, near, fell, lean, total / 2.0, pack.height_mm)
                if travel < best:
                    best, blocker = travel, j
    return (max(best, 0.0), blocker) if best <= reach_mm else (math.inf, -1)


@kernel
def over_guide_mm(gap_mm: float, cos_off: float, wires: Row, height_mm: float) -> float:
    """`overhang_mm` of the room `tipping`, of one can in one direction; no less than gap / cos."""
    out, at = at_wire_mm(gap_mm, cos_off, wires, height_mm)
    return height_mm * out / math.sqrt(out * out + at * at)


@asked_again
def _largest_mm(radius_mm: Floats) -> float:
    return float(radius_mm.max(initial=0.0))


def sorted_pack(
    place_mm: Places,
    radius_mm: Floats,
    low_mm: Floats,
    high_mm: Floats,
    period_mm: float = 0.0,
    closed: Bools | None = None,
    station_mm: Floats | None = None,
    down_rad: Floats | None = None,
    fell_rad: Floats | None = None,
    height_mm: float = 0.0,
    cells: Cells | None = None,
    guide: Indices | None = None,
) -> SortedPack:
    """Sort a pack into cells, unless it is.

    The stations are the places along travel where none are given, and all cans stand where nothing
    is said of how they are down.
    """
    n = place_mm.size
    down = np.zeros(n) if down_rad is None else down_rad
    largest = _largest_mm(radius_mm)
    if cells is None:
        side = max(2.0 * largest, 1.0)
        cells = compiled(in_cells)(place_mm, down != GONE, side, float(period_mm))
    return SortedPack(
        place_mm=place_mm,
        radius_mm=radius_mm,
        low_mm=low_mm,
        high_mm=high_mm,
        closed=np.zeros(n, dtype=np.bool_) if closed is None else closed,
        station_mm=place_mm.real.copy() if station_mm is None else station_mm,
        cells=cells,
        down_rad=down,
        fell_rad=down if fell_rad is None else fell_rad,
        height_mm=height_mm,
        largest_mm=largest,
        travel_mm=np.empty(0),
        met=np.empty(0, dtype=np.uint32),
        give_mm=np.empty(0),
        guide=np.arange(n, dtype=np.uint32) if guide is None else guide,
    )


def laid_pack(
    state: State,
    height_mm: float,
    low_mm: Floats,
    high_mm: Floats,
    closed: Bools | None = None,
    station_mm: Floats | None = None,
    guide: Indices | None = None,
) -> SortedPack:
    """Lay out the pack of a state, tipped cans as they are down; parameters as for `sorted_pack`.

    It stands in the cells of its list of pairs.
    """
    place, owner = state.discs_mm()
    tipped, who, _ = who_is_down(state.down_rad)
    shut = tipped if closed is None else closed | tipped
    station = state.station_mm if station_mm is None else station_mm
    of = np.append(np.arange(len(state)), owner) if owner.size else slice(None)
    return sorted_pack(
        place,
        state.radius_mm[of] if owner.size else state.radius_mm,  # the same is asked again
        low_mm,
        high_mm,
        state.period_mm,
        closed=shut[of],
        station_mm=station[of],
        down_rad=state.down_rad[of],
        fell_rad=state.fell_rad[of],
        height_mm=height_mm if who.size else 0.0,
        cells=state.near.cells_now(place) if place.shape == state.near.seen_mm.shape else None,
        guide=(np.arange(len(state), dtype=np.uint32) if guide is None else guide)[of],
    )
