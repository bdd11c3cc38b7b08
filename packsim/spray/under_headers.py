"""What sprays do to a can anywhere under a stage's headers, leaning in any direction: a grid.

And the dome water with which they tip it most easily.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.can import Can, Stance
from packsim.line import Header
from packsim.pack.neighbours import kinds
from packsim.spray.jets import footprint_of
from packsim.spray.leaning import LEANS, lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.spray_load import lean_reach_mm, stretches_under

STEP_MM: Final = 6.0
"""Distance of the nodes along travel; across it is the nearest whole part of the nozzle pitch."""

TURNS: Final = 24
"""Directions of the nodes, a multiple of 4: both across the mat are among them."""


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """Places under the headers of one stretch at which loads are worked out.

    Parameters
    ----------
    first_mm : tuple of float
        First node, along from the stretch's start and across from the mat's left edge [mm].
    step_mm : tuple of float
        Distance of the nodes along and across [mm].
    along : int
        How many there are along travel.
    row : ndarray of int64, shape (y,)
        Which row of loads a node across has; nozzles of one pitch repeat them.
    once : ndarray of int64, shape (r,)
        A node across of each row.
    """

    first_mm: tuple[float, float]
    step_mm: tuple[float, float]
    along: int
    row: Ints
    once: Ints

    @property
    def x_mm(self) -> Floats:
        """Places along from the stretch's start [mm]."""
        return np.asarray(self.first_mm[0] + self.step_mm[0] * np.arange(self.along))

    @property
    def y_mm(self) -> Floats:
        """A place across of each row, from the mat's left edge [mm]."""
        return np.asarray(self.first_mm[1] + self.step_mm[1] * self.once)


def nodes_under(headers: Sequence[Header], body: Stance, most_rad: float) -> Nodes:
    """Return the nodes under the headers of one `Under`; the outermost are beyond every spray.

    Parameters
    ----------
    headers, body, most_rad
        As for `stretches_under`.

    Returns
    -------
    Nodes
        Rows that have the same nozzles in reach of them and of their neighbours are one.
    """
    pitch, more = headers[0].pitch_mm, lean_reach_mm(body, most_rad)
    count = round(pitch / STEP_MM) or 1.0 / round(STEP_MM / pitch)
    step, origin = (STEP_MM, pitch / count), (headers[0].station_mm, headers[0].first_mm)
    ends: list[list[float]] = [[], []]
    for header in headers:
        patch, across = footprint_of(header, body.height_mm), header.positions_mm
        spans = (header.station_mm, header.station_mm), (across[0], across[-1])
        for axis, half in enumerate((patch.half_along_mm, patch.half_across_mm)):
            wide = math.ceil((half + more) / step[axis]) + 1
            low, high = ((at - origin[axis]) / step[axis] for at in spans[axis])
            ends[axis] += [math.floor(low + 1e-6) - wide, math.floor(high + 1e-6) + wide]
    first, last = ([int(of(each)) for each in ends] for of in (min, max))
    y = origin[1] + step[1] * np.arange(first[1], last[1] + 1)
    near = []
    for header in headers:
        reach = footprint_of(header, body.height_mm).half_across_mm + more + step[1]
        low, high = (
            np.clip(np.ceil((y + off - header.first_mm) / header.pitch_mm), 0, header.count)
            for off in (-reach, reach)
        )
        off = np.round(y - header.first_mm - low * header.pitch_mm, 6)
        near += [high - low, np.where(high > low, off, 0.0)]
    row, once = kinds(list(zip(*(each.tolist() for each in near), strict=True)))
    start = origin[0] + first[0] * step[0], origin[1] + first[1] * step[1]
    return Nodes(start, step, last[0] + 1 - first[0], row, once)


@lru_cache(maxsize=128)
def worst_water(
    headers: tuple[Header, ...], water: tuple[float, float], can: Can, open_fraction: float
) -> float:
    """Return the share of dome water with which a can is easiest to tip towards a guide.

    Parameters
    ----------
    headers : tuple of Header
        Headers of the stage that the can passes.
    water : tuple of float
        Lowest and highest share its dome may hold [-].
    can : Can
        The size.
    open_fraction : float
        Share of the spray from below that the mat lets through [-].

    Returns
    -------
    float
        Share with the least energy to balance towards either guide, at every lean under the sprays
        of the place where they press hardest; the lowest of equals [-].
    """
    most, (low, high) = most_balance_rad(can), water
    least, fullest = can.stance(low), can.stance(high)
    under = stretches_under(headers, can.stance(), most)
    # the work of lifting the water, over the leans, rises and then falls: where it is not below 0
    # at the largest, more water makes every lean dearer whatever the sprays do
    if _raised_mJ(fullest, most) >= _raised_mJ(least, most):
        return low
    if not under:
        return worst_share(lambda share: can.stance(share).balance_energy_mJ, *water)
    leans, worst = lean_nodes_rad(most), np.zeros(LEANS)
    for stretch in {one.headers: one for one in under}.values():
        nodes = nodes_under(stretch.headers, can.stance(), most)
        place = nodes.x_mm[:, None, None], nodes.y_mm[:, None], np.array([0.5, 1.5]) * math.pi
        moment = tipping_moment_N_mm(stretch.headers, can.stance(), open_fraction, *place, leans)
        worst = np.maximum(worst, moment.max(axis=(0, 1, 2)))
    return worst_share(
        lambda share: float(tipped_under_load(worst, leans, can.stance(share))[1]), *water
    )


def _raised_mJ(stance: Stance, lean_rad: float) -> float:
    """Work of weight alone from upright to a lean, weight times the rise of its centre [mJ]."""
    own = stance.balance_angle_rad
    return stance.weight_N * stance.arm_mm * (math.cos(own - lean_rad) - math.cos(own))


_SHARE_TOL = 1e-4
"""A share of the dome's water this much off is worth less than a drop."""


def worst_share(of: Callable[[float], float], low: float, high: float) -> float:
    """Return the share between two at which a quantity with one valley is least [-].

    An energy to balance has one: it is the largest, over the leans, of works linear in the share.
    """
    if of(low) <= of(low + min(_SHARE_TOL, high - low)):
        return low  # a valley that rises from its end has its floor there
    left, right, golden = low, high, (math.sqrt(5.0) - 1.0) / 2.0
    near, far = right - golden * (right - left), left + golden * (right - left)
    at_near, at_far = of(near), of(far)
    while right - left > _SHARE_TOL:
        if at_near <= at_far:
            right, far, at_far = far, near, at_near
            near = right - golden * (right - left)
            at_near = of(near)
        else:
            left, near, at_near = near, far, at_far
            far = left + golden * (right - left)
            at_far = of(far)
    return min(((left + right) / 2.0, high), key=of)


def most_balance_rad(can: Can) -> float:
    """Largest balance angle of any dome water."""
    return max(can.stance(share).balance_angle_rad for share in (0.0, 1.0))
