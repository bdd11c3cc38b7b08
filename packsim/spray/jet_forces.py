"""The forces of one header's jets on cans at given places along travel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Header
from packsim.spray.catch import axial_share, caught
from packsim.spray.footprint import Footprint
from packsim.spray.jets import thrust_of_nozzle_N

_CELLS = 20_000  # jets x places at once: with a fan's quadrature nodes some 60 MB


@dataclass(frozen=True, slots=True, eq=False)
class Forces:
    """Sums over the jets, for every line at every place along travel.

    Parameters
    ----------
    top_N, bottom_N : ndarray, shape (m, p)
        Push down from above and up from below [N].
    lateral_N : ndarray, shape (2, m, p)
        Sideways push, along and across [N].
    moment_N_mm : ndarray, shape (2, m, p)
        Turning moment towards along and across, about the middle of the foot [N·mm].
    """

    top_N: Floats
    bottom_N: Floats
    lateral_N: Floats
    moment_N_mm: Floats

    def __add__(self, other: Forces) -> Forces:
        return Forces(
            self.top_N + other.top_N,
            self.bottom_N + other.bottom_N,
            self.lateral_N + other.lateral_N,
            self.moment_N_mm + other.moment_N_mm,
        )

    @staticmethod
    def none(lines: int, places: int) -> Forces:
        """Return no force at all, the start of a sum."""
        flat, double = (lines, places), (2, lines, places)
        return Forces(np.zeros(flat), np.zeros(flat), np.zeros(double), np.zeros(double))


def header_forces(
    header: Header,
    patch: Footprint,
    lines_mm: Floats,
    places_mm: Floats,
    stance: Stance,
    open_fraction: float,
) -> Forces:
    """Sum the forces of the jets of one header.

    Parameters
    ----------
    header : Header
        The header.
    patch : Footprint
        Footprint of each of its nozzles on the can tops, or on the mat.
    lines_mm : ndarray, shape (m,)
        Can lines across the mat [mm].
    places_mm : ndarray, shape (p,)
        Places of the can along travel [mm].
    stance : Stance
        The can.
    open_fraction : float
        Share of the spray from below that the mat lets through [-].

    Returns
    -------
    Forces
        By line and place.

    Notes
    -----
    The thrust ρQv acts along the rays. Its part along the axis, mean cosine times thrust, is taken
    to be spread like the flow; a ray that lands r from the axis carries r/h of that sideways, h
    the stand-off. Both sums over the patch caught are then its share and its first moment, exact
    for a cone.
    """
    axial = thrust_of_nozzle_N(header) * axial_share(patch)
    along = places_mm - header.station_mm
    near = np.flatnonzero(np.abs(along) <= patch.half_along_mm + stance.radius_mm)
    across = lines_mm[:, None] - header.positions_mm
    rows, nozzles = np.nonzero(np.abs(across) < patch.half_across_mm + stance.radius_mm)
    total = Forces.none(len(lines_mm), len(places_mm))
    step = max(1, _CELLS // max(1, len(near)))
    for k in range(0, len(rows), step):
        row = rows[k : k + step]
        at = np.broadcast_arrays(along[near], across[row, nozzles[k : k + step]][:, None])
        got = caught(patch, at[0], at[1], stance.radius_mm)
        push = axial * got.share
        sums = axial * np.stack([got.along_mm, got.across_mm])
        sideways, turn = sums / patch.stand_off_mm, sums - push * np.stack(at)
        cell = np.ix_(row, near)
        if header.side == "above":
            np.add.at(total.top_N, cell, push)
            turn += stance.height_mm * sideways
        else:
            push, sideways, turn = (open_fraction * v for v in (push, sideways, -turn))
            np.add.at(total.bottom_N, cell, push)
        for axis in (0, 1):
            np.add.at(total.lateral_N[axis], cell, sideways[axis])
            np.add.at(total.moment_N_mm[axis], cell, turn[axis])
    return total
