"""How far each can leans along a direction, and in which one furthest: exactly, not on a grid."""

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.constants import CONTACT_TOL_REL
from packsim.tipping.neighbours import FAR_MM, Around, wire_lean_rad

# an arc's far side is asked this far past its end; moves the answer by less than that share
_PAST_ARC_RAD = 1e-7
# a corner met after less travel than this is a contact; its direction would be all rounding
_SHORTEST_MM = 1e-9
_WIRE_ROUNDS = 8  # for the crossing with a neighbour; each gains about one digit at θ = 0.3

Direction = tuple[Floats, Floats, Bools]  # components of a direction, and the cans to ask it for


def refine_worst(what: Around, worst_rad: Floats, bearing_rad: Floats) -> tuple[Floats, Floats]:
    """Raise the worst lean found on a grid to the true worst over all directions.

    Parameters
    ----------
    what : Around
        The surroundings of n cans, complete up to the leans that come out.
    worst_rad, bearing_rad : ndarray, shape (n,)
        Worst lean so far and its direction [rad].

    Returns
    -------
    worst_rad, bearing_rad : ndarray, shape (n,)
        The same, at least as bad [rad].

    Notes
    -----
    Each neighbour stops a can along an arc of directions, soonest straight ahead and later towards
    the arc's ends; a wire does the same. The least of such curves can peak only where two of them
    cross or where an arc ends, so a short list of candidates, derived here, holds every maximum:

    - two neighbours stop the can at once where its centre reaches a point at D from both of their
      centres, one of the two corners of a rhombus; only corners met by moving towards both count;
    - a wire at height z and a neighbour do where that point lies also at g H cos θ / z across;
    - the far side of each neighbour's arc, asin(D / d) off its bearing;
    - the far side of each wire's arc, where the shoulder slips below it, cos ψ = g / √(H² − z²).

    A candidate whose own stop is no worse than the worst so far is not asked.
    """
    worst, bearing = worst_rad.copy(), bearing_rad.copy()
    for ux, uy, ask in _candidates(what, worst):
        if not ask.any():
            continue
        cans = np.flatnonzero(ask)
        lean = lean_along_rad(what.take(cans), ux[cans], uy[cans])
        worse = lean > worst[cans]
        cans = cans[worse]
        worst[cans] = lean[worse]
        bearing[cans] = np.mod(np.arctan2(uy[cans], ux[cans]), 2.0 * math.pi)
    return worst, bearing


def _candidates(what: Around, worst_rad: Floats) -> Iterator[Direction]:
    yield from _arc_ends(what)
    yield from _pockets(what, worst_rad)
    for gap, side in ((what.left_gap_mm, -1.0), (what.right_gap_mm, 1.0)):
        for z in what.wire_heights_mm:
            if z < what.height_mm:
                yield from _wire_ends(gap, side, z, what.height_mm)
                yield from _wire_corners(what, gap, side, z)


def _arc_ends(what: Around) -> Iterator[Direction]:
    for x, y, power in zip(what.x_mm, what.y_mm, what.power_mm2, strict=True):
        used = x < FAR_MM
        bearing = np.arctan2(y, x)
        tangent = np.sqrt(np.maximum(power, 0.0))
        half_arc = np.arctan2(what.diameter_mm, tangent) + _PAST_ARC_RAD
        for angle in (bearing - half_arc, bearing + half_arc):
            yield np.cos(angle), np.sin(angle), used


def _pockets(what: Around, worst_rad: Floats) -> Iterator[Direction]:
    least = what.height_mm * np.sin(np.minimum(worst_rad, math.pi / 2.0))
    for i, j in combinations(range(what.x_mm.shape[0]), 2):
        xi, yi, xj, yj = what.x_mm[i], what.y_mm[i], what.x_mm[j], what.y_mm[j]
        hx, hy = (xj - xi) / 2.0, (yj - yi) / 2.0
        half2 = hx * hx + hy * hy
        square = what.diameter_mm**2 / np.maximum(half2, 1e-12) - 1.0
        meets = (square > 0.0) & (xi < FAR_MM) & (xj < FAR_MM)
        if not meets.any():
            continue
        step = np.sqrt(np.maximum(square, 0.0))
        for turn in (step, -step):
            px, py = xi + hx - turn * hy, yi + hy + turn * hx
            ahead = np.minimum(px * (xi - px) + py * (yi - py), px * (xj - px) + py * (yj - py))
            way = np.hypot(px, py)
            ask = meets & (ahead >= 0.0) & (way > np.maximum(least, _SHORTEST_MM))
            way = np.maximum(way, _SHORTEST_MM)
            yield px / way, py / way, ask


def _wire_ends(gap: Floats, side: float, z: float, height: float) -> Iterator[Direction]:
    reach = math.sqrt(height * height - z * z)
    off = np.arccos(np.clip(gap / reach, 0.0, 1.0)) + _PAST_ARC_RAD
    near = gap < reach
    for sign in (-1.0, 1.0):
        yield sign * np.sin(off), side * np.cos(off), near


def _wire_corners(what: Around, gap: Floats, side: float, z: float) -> Iterator[Direction]:
    height = what.height_mm
    near = gap < height
    if not near.any():
        return
    amplified = np.where(near, np.maximum(gap, 0.0) * height / z, 0.0)
    for x, y in zip(what.x_mm, what.y_mm, strict=True):
        for sign in (-1.0, 1.0):
            px, across = np.zeros_like(x), amplified
            meets = near & (x < FAR_MM)
            for _ in range(_WIRE_ROUNDS):
                root = what.diameter_mm**2 - (side * across - y) ** 2
                px = x + sign * np.sqrt(np.maximum(root, 0.0))
                cos2 = 1.0 - (px * px + across * across) / height**2
                across = amplified * np.sqrt(np.maximum(cos2, 0.0))
            way = np.hypot(px, across)
            ask = meets & (root > 0.0) & (way > _SHORTEST_MM) & (way < height)
            way = np.maximum(way, _SHORTEST_MM)
            yield px / way, side * across / way, ask


Component = float | Floats  # of a direction for all cans, or of one for each


def free_travel_mm(what: Around, ux: Component, uy: Component) -> Floats:
    """How far each can's disc moves along a direction before it meets a neighbour's [mm].

    Parameters
    ----------
    what : Around
        The surroundings of n cans.
    ux, uy : float or ndarray of shape (n,)
        Unit vector of the direction, one for all cans or one for each [-].

    Returns
    -------
    ndarray, shape (n,)
        Least over the neighbours of δ = a − √(D² − b²), with a the neighbour's distance along the
        direction and b off it; 0 for a can in contact, `FAR_MM` where nobody is in the way [mm].

    Notes
    -----
    D² − b² = a² − (d² − D²), so the power d² − D², which does not turn, saves a product and is
    exact for cans in contact. A neighbour that is only brushed (a below a millionth of D) does not
    count: along a common tangent two touching cans do not stop each other.
    """
    a: Floats = what.x_mm * ux + what.y_mm * uy
    inside = a * a - what.power_mm2
    travel = a - np.sqrt(np.maximum(inside, 0.0))
    travel[(inside <= 0.0) | (a <= CONTACT_TOL_REL * what.diameter_mm)] = FAR_MM
    least: Floats = travel.min(axis=0, initial=FAR_MM)
    return np.maximum(least, 0.0)


def lean_along_rad(what: Around, ux: Component, uy: Component) -> Floats:
    """Lean of each can along a direction before a neighbour or a wire stops it.

    Parameters
    ----------
    what, ux, uy
        As for `free_travel_mm`; y points from the left guide to the right one.

    Returns
    -------
    ndarray, shape (n,)
        Smallest of asin(δ / H) and the wire leans of both guides; π/2 where nothing stops it [rad].
    """
    lean = np.arcsin(np.minimum(1.0, free_travel_mm(what, ux, uy) / what.height_mm))
    toward = np.broadcast_to(np.asarray(uy, dtype=np.float64), lean.shape)
    for gap, cos_off in ((what.left_gap_mm, -toward), (what.right_gap_mm, toward)):
        near = np.flatnonzero((gap < what.height_mm) & (cos_off > 0.0))
        if near.size:
            wire = wire_lean_rad(gap[near], what.wire_heights_mm, what.height_mm, cos_off[near])
            lean[near] = np.minimum(lean[near], wire)
    return lean
