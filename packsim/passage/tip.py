"""Which kicks tip a can: march from can to can until the gaps between them let the first one over.

Only a kick above the energy of a can that nothing holds is looked at, and a march stops once the
cans that must lean along cost more than the kick has; so the question is asked of few, briefly.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.passage.state import State
from packsim.passage.tipped import GONE, contact_mm, room_beside_mm
from packsim.passage.track import Track
from packsim.tipping.neighbours import overhang_mm


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


def needed_mJ(
    laid: SortedPack,
    track: Track,
    can: Ints,
    direction_rad: Floats,
    stage: Ints,
    budget_mJ: Floats | float = math.inf,
) -> Floats:
    """Energy it takes to tip cans in given directions, neighbours giving way.

    Parameters
    ----------
    laid : SortedPack
        The pack.
    track : Track
        The line, for the load on the cans, its hold-downs and its wires.
    can : ndarray of int64, shape (m,)
        Cans that are kicked.
    direction_rad : ndarray, shape (m,)
        Directions of the kicks [rad].
    stage : ndarray of int64, shape (m,)
        Stage each can is in; its wires and hold-down count for the whole chain.
    budget_mJ : ndarray, shape (m,), or float
        A sum above this is not carried on [mJ].

    Returns
    -------
    ndarray, shape (m,)
        Σ_k U(θ_k) along the chain of cans that the gaps do not spare; infinite where a guide, the
        hold-down or a closed can ends the chain first, or the budget is passed [mJ].

    Notes
    -----
    The first can must move its top out by H sin α_e; each next one by what the gaps before leave of
    it, along the same direction. Each has the balance angle and energy of its own place in that
    direction (`packsim.spray.in_place.LineLoad`). A guide at gap g along the direction lets a top
    out by `packsim.tipping.neighbours.overhang_mm`. Without sprays the same sum as
    `packsim.tipping.overturning.chain_energy_mJ`, with gaps from the positions.
    """
    standing = track.standing
    balance, energy = laid.load(track, can, direction_rad)
    left = standing.height_mm * np.sin(balance)
    total = np.where(standing.meeting_rad.take(stage) < balance, math.inf, 0.0)
    budget = np.broadcast_to(np.asarray(budget_mJ, dtype=np.float64), can.shape)
    direction = np.exp(1j * direction_rad)
    open_ = np.flatnonzero(np.isfinite(total))
    balance, energy, leaning = balance[open_], energy[open_], can[open_]
    while open_.size:  # a closed can made infinite below still takes one more, idle, turn
        lean = np.arcsin(np.minimum(left[open_] / standing.height_mm, 1.0))
        total[open_] += part_of_energy_mJ(lean, balance, energy)
        wall = laid.guide_reach_mm(track, leaning, direction[open_], stage[open_])
        total[open_[wall < left[open_] - 1e-9]] = math.inf
        on = np.isfinite(total[open_]) & (total[open_] <= budget[open_])
        open_, leaning = open_[on], leaning[on]
        if open_.size == 0:
            break
        gap, blocker = laid.free_travel_mm(leaning, direction[open_], left[open_])
        left[open_] -= gap
        go_on = (blocker >= 0) & (left[open_] > 0.0)
        total[open_[go_on & laid.closed[blocker]]] = math.inf
        open_, leaning = open_[go_on], blocker[go_on]
        balance, energy = laid.load(track, leaning, direction_rad[open_])
    return np.where(total <= budget, total, math.inf)


def part_of_energy_mJ(lean_rad: Floats, balance_rad: Floats, energy_mJ: Floats) -> Floats:
    """Energy to lean cans part of the way to balance, all of it from there on [mJ].

    Parameters
    ----------
    lean_rad, balance_rad, energy_mJ : ndarray
        Lean θ, balance angle α, and energy U that it takes to reach it [rad], [mJ].

    Returns
    -------
    ndarray
        U (cos(α − θ) − cos α) / (1 − cos α): exact where weight alone rights the can. Under the
        sprays of the shipped line within 7 % of U (root mean square), and within 2 % where the can
        is among the easiest to tip (measured in tests) [mJ].
    """
    lean = np.minimum(lean_rad, balance_rad)
    # cos(α − θ) − cos α as a product keeps the digits of a small lean
    part = np.sin(balance_rad - lean / 2.0) * np.sin(lean / 2.0)
    whole = np.maximum(np.sin(balance_rad / 2.0) ** 2, 1e-300)  # a can past balance costs nothing
    return np.asarray(energy_mJ * part / whole)


def guide_reach_mm(gap_mm: Floats, stage: Ints, track: Track) -> Floats:
    """How far a top can stand out over the guide its can leans on [mm]."""
    reach = np.empty(gap_mm.shape)
    height = track.standing.height_mm
    for k in np.unique(stage):
        here = stage == k
        reach[here] = overhang_mm(gap_mm[here], track.standing.wires_mm[k], height)
    return reach
