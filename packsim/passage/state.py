"""The pack at one moment, as arrays in a frame that rides on the mat."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packsim.arrays import Bools, Floats, Ints, Places
from packsim.pack.near import Near, list_near
from packsim.passage.record import PLACES
from packsim.passage.tipped import GONE, lying_discs, who_is_down


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Every can on the mat, and the counts so far.

    Parameters
    ----------
    place_mm : ndarray of complex128, shape (n,)
        Centres x + iy: x on the mat (place along the line less travel), y from the mat's left edge
        [mm].
    radius_mm : ndarray, shape (n,)
        Radii, cold [mm].
    id : ndarray of int64, shape (n,)
        Numbers of the cans, in the order they came.
    down_rad : ndarray, shape (n,)
        How far each can is down, 0 while it stands, see `packsim.passage.tipped` [rad].
    fell_rad : ndarray, shape (n,)
        Direction the tipped ones fell in [rad].
    span_mm : ndarray, shape (n,)
        Distance between the discs at both ends of lying ones, 0 for all others [mm].
    near : Near
        Pairs within reach.
    kicks, tips : ndarray of int64, shape (k, 3)
        Kicks given and cans tipped so far, by stage and place.
    steps : int
        Steps of time taken so far.
    time_s, travel_mm : float
        Time, and how far the mat has moved [s], [mm].
    tail_mm : float
        x on the mat of the upstream end of the stretch fed last [mm].
    period_mm : float
        Length of a periodic slice, 0 for a whole line [mm].
    held_up_mm : float
        Length of pack that the infeed could not place because cans stood in its way [mm].
    cans_in, cans_out : int
        Cans fed and let go so far.
    overlap_mm, overlap_stage : float, int
        No two cans overlap by more [mm]. Beyond the tolerance it is the worst overlap that the last
        step left, and the stage that those are in.
    """

    place_mm: Places
    radius_mm: Floats
    id: Ints
    down_rad: Floats
    fell_rad: Floats
    span_mm: Floats
    near: Near
    kicks: Ints
    tips: Ints
    steps: int = 0
    time_s: float = 0.0
    travel_mm: float = 0.0
    tail_mm: float = 0.0
    period_mm: float = 0.0
    held_up_mm: float = 0.0
    cans_in: int = 0
    cans_out: int = 0
    overlap_mm: float = 0.0
    overlap_stage: int = 0

    def __len__(self) -> int:
        return int(self.place_mm.shape[0])

    @property
    def tipped(self) -> Bools:
        """Cans that do not stand any more."""
        return who_is_down(self.down_rad)[0]

    @property
    def x_mm(self) -> Floats:
        """Places along the mat [mm]."""
        return self.place_mm.real

    @property
    def y_mm(self) -> Floats:
        """Places across the mat [mm]."""
        return self.place_mm.imag

    @property
    def station_mm(self) -> Floats:
        """Place of every can along the line; one and the same in a periodic slice [mm]."""
        return self.stations_mm(self.place_mm)

    def stations_mm(self, place_mm: Places) -> Floats:
        """Place along the line of whatever stands at some places [mm]."""
        if self.period_mm > 0.0:
            return np.full(place_mm.size, self.travel_mm)
        return np.asarray(place_mm.real + self.travel_mm)

    def keep(self, mask: Bools) -> State:
        """Return the state with only some of its cans; the pairs are left to be listed again."""
        return replace(
            self,
            place_mm=self.place_mm[mask],
            radius_mm=self.radius_mm[mask],
            id=self.id[mask],
            down_rad=self.down_rad[mask],
            fell_rad=self.fell_rad[mask],
            span_mm=self.span_mm[mask],
        )

    def with_cans(self, place_mm: Places, radius_mm: Floats) -> State:
        """Return the state with more cans standing at the end of its arrays."""
        count = place_mm.shape[0]
        return replace(
            self,
            place_mm=np.concatenate((self.place_mm, place_mm)),
            radius_mm=np.concatenate((self.radius_mm, radius_mm)),
            id=np.concatenate((self.id, self.cans_in + np.arange(count))),
            down_rad=np.concatenate((self.down_rad, np.zeros(count))),
            fell_rad=np.concatenate((self.fell_rad, np.zeros(count))),
            span_mm=np.concatenate((self.span_mm, np.zeros(count))),
            cans_in=self.cans_in + count,
        )

    def listed(self) -> State:
        """Return the state with its pairs listed anew."""
        place, owner = self.discs_mm()
        radius = np.append(self.radius_mm, self.radius_mm[owner])
        body = np.append(np.where(self.down_rad == GONE, -1, np.arange(len(self))), owner)
        return replace(self, near=list_near(place, radius, self.period_mm, body=body))

    def discs_mm(self, place_mm: Places | None = None) -> tuple[Places, Ints]:
        """Return all discs in the way: the cans, then the further ones of lying cans.

        Parameters
        ----------
        place_mm : ndarray of complex128, shape (n,), optional
            Other places of the cans than the state's [mm].

        Returns
        -------
        place_mm : ndarray of complex128, shape (n + m,)
            Their centres [mm].
        owner : ndarray of int64, shape (m,)
            Whose the further discs are.
        """
        place = self.place_mm if place_mm is None else place_mm
        more, owner = lying_discs(place, self.down_rad, self.fell_rad, self.span_mm)
        return (np.append(place, more) if more.size else place), owner


def no_counts(stages: int) -> Ints:
    """Return an empty table of counts by stage and place."""
    return np.zeros((stages, len(PLACES)), dtype=np.int64)
