"""What sprays do to a can anywhere under a stage's headers, leaning in any direction: a grid.

And the dome water with which they tip it most easily.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints, Singles
from packsim.can import Can, Stance
from packsim.constants import WATER_KG_PER_MM3
from packsim.line import Header
from packsim.pack.neighbours import kinds
from packsim.spray.jets import footprint_of, thrust_of_nozzle_N
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.spray_load import lean_reach_mm, stretches_under

STEP_MM: Final = 6.0
"""Distance of the nodes along travel; across it is the nearest whole part of the nozzle pitch."""

TURNS: Final = 24
"""Directions of the nodes, a multiple of 4: both across the mat are among them."""


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Moments of the headers of one stretch.

    Parameters
    ----------
    first_mm : tuple of float
        First node, along from the stretch's start and across from the mat's left edge [mm].
    step_mm : tuple of float
        Distance of the nodes along and across [mm].
    leans_rad : ndarray, shape (k,)
        Leans of the moments [rad].
    row : ndarray of int64, shape (y,)
        Which row of the moments a node across has; nozzles of one pitch repeat them.
    moment_N_mm : ndarray, shape (x, r, TURNS, k)
        What tips on a can that leans so far [N·mm].
    """

    first_mm: tuple[float, float]
    step_mm: tuple[float, float]
    leans_rad: Floats
    row: Ints
    moment_N_mm: Singles

    @property
    def worst_across_N_mm(self) -> Floats:
        """Largest moment at any place towards either guide, at each lean, shape (k,) [N·mm]."""
        across = self.moment_N_mm[:, :, TURNS // 4 :: TURNS // 2]
        return np.asarray(across.max(axis=(0, 1, 2)), dtype=np.float64)


@lru_cache(maxsize=32)
def moments_under(
    headers: tuple[Header, ...], body: Stance, open_fraction: float, most_rad: float
) -> Moments:
    """Return the moments of the headers of one stretch on a grid of places and directions.

    Parameters
    ----------
    headers : tuple of Header
        Of one `Under`.
    body : Stance
        The can; only diameter and height count.
    open_fraction : float
        Share of the spray from below that the mat lets through, 0..1 [-].
    most_rad : float
        Largest lean [rad].

    Returns
    -------
    Moments
        Its outermost nodes are beyond every spray.

    Notes
    -----
    A nozzle does the same wherever it stands and in proportion to its thrust: one of a kind is
    worked out about its own place (`packsim.spray.leaning.tipping_moment_N_mm`) and added at the
    place of each. Nozzles that stand otherwise between the nodes, as on a header of another pitch,
    are kinds of their own.
    """
    pitch = headers[0].pitch_mm
    nodes = round(pitch / STEP_MM) or 1.0 / round(STEP_MM / pitch)
    step = STEP_MM, pitch / nodes
    origin = headers[0].station_mm, headers[0].first_mm
    ones: list[tuple[int, Singles]] = []  # node along and moments of each kind
    parts: dict[int, list[tuple[int, int]]] = {}  # by node across: kinds, and which of their rows
    for header in headers:
        place, shift = _nodes(np.array([header.station_mm - origin[0]]) / step[0])
        across, aside = _nodes((header.positions_mm - origin[1]) / step[1])
        for share in np.unique(aside):
            at = step, (float(shift[0]), float(share))
            one = _one_nozzle(_kind(header), body, open_fraction, most_rad, *at)
            for node in across[aside == share].tolist():
                for k in range(one.shape[1]):
                    parts.setdefault(node - one.shape[1] // 2 + k, []).append((len(ones), k))
            # row by row: as these are added
            forced = np.float32(thrust_of_nozzle_N(header)) * one.swapaxes(0, 1)
            ones.append((int(place[0]), np.ascontiguousarray(forced)))
    left = min(parts)
    row, once = kinds([tuple(parts.get(y, ())) for y in range(left, max(parts) + 1)])
    start = min(along - one.shape[1] // 2 for along, one in ones)
    stop = max(along + one.shape[1] // 2 for along, one in ones)
    total = np.zeros((once.size, stop + 1 - start, *ones[0][1].shape[2:]), dtype=np.float32)
    for here, y in zip(total, once.tolist(), strict=True):
        for number, k in parts.get(left + y, ()):
            along, one = ones[number]
            first = along - one.shape[1] // 2 - start
            here[first : first + one.shape[1]] += one[k]
    first = origin[0] + start * step[0], origin[1] + left * step[1]
    return Moments(first, step, lean_nodes_rad(most_rad), row, total.swapaxes(0, 1))


def _nodes(places: Floats) -> tuple[Ints, Floats]:
    """Nodes at or before places given in steps, and how far beyond them the places are [-].

    To a twelfth of a step, so that headers which do not fit the nodes stay a few kinds.
    """
    twelfths = np.round(places * 12.0)
    return (twelfths // 12.0).astype(np.int64), twelfths % 12.0 / 12.0


def _kind(header: Header) -> Header:
    """One nozzle of a header at a thrust that does not matter, where it does not matter."""
    nozzle = replace(header.nozzle, flow_mm3_per_s=1e5, reference_MPa=1.0, velocity_coefficient=1.0)
    one = replace(header, station_mm=0.0, first_mm=0.0, pitch_mm=1e6, count=1, nozzle=nozzle)
    return replace(one, pressure_MPa=1.0, liquid_kg_per_mm3=WATER_KG_PER_MM3)


@lru_cache(maxsize=128)
def _one_nozzle(
    kind: Header,
    body: Stance,
    open_fraction: float,
    most_rad: float,
    step_mm: tuple[float, float],
    shift: tuple[float, float],
) -> Singles:
    """Moment per thrust about one nozzle, an odd number of nodes along and across [mm]."""
    patch, more = footprint_of(kind, body.height_mm), lean_reach_mm(body, most_rad)
    half = patch.half_along_mm, patch.half_across_mm
    wide = [math.ceil((half[axis] + more) / step_mm[axis]) + 1 for axis in (0, 1)]
    x, y = ((np.arange(-w, w + 1) - s) * d for w, s, d in zip(wide, shift, step_mm, strict=True))
    turns = np.arange(TURNS) * (2.0 * math.pi / TURNS)
    moment = tipping_moment_N_mm(
        [kind], body, open_fraction, x[:, None, None], y[:, None], turns, lean_nodes_rad(most_rad)
    )
    return (moment / thrust_of_nozzle_N(kind)).astype(np.float32)


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
    most = most_balance_rad(can)
    under = [
        moments_under(stretch.headers, can.stance(), open_fraction, most)
        for stretch in stretches_under(headers, can.stance(), most)
    ]
    if not under:
        return worst_share(lambda share: can.stance(share).balance_energy_mJ, *water)
    worst = np.max([got.worst_across_N_mm for got in under], axis=0)
    leans = under[0].leans_rad
    return worst_share(
        lambda share: float(tipped_under_load(worst, leans, can.stance(share))[1]), *water
    )


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
