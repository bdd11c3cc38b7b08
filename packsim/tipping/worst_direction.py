"""How far a can leans along a direction, and in which one furthest: exactly, not on a grid.

Kernels (`packsim.compiled`). Each works on the neighbours of a can, entries ``first`` to ``last``
of lists: the vectors to them [mm] and their powers about the can's centre, d² − D² [mm²].
"""

import math
from collections.abc import Sequence

import numpy as np

from packsim.arrays import Floats
from packsim.compiled import kernel
from packsim.constants import CONTACT_TOL_REL

FAR_MM = 1e9
"""Travel where nobody is in the way: beyond any mat."""

# an arc's far side is asked this far past its end; moves the answer by less than that share
_PAST_ARC_RAD = 1e-7
# a corner met after less travel than this is a contact; its direction would be all rounding
_SHORTEST_MM = 1e-9
_NEARLY = 1.0 - 1e-12  # rounding left out of the travel that leads to no worse a lean
_WIRE_ROUNDS = 8  # for the crossing with a neighbour; each gains about one digit at θ = 0.3

Row = Sequence[float]
Around = tuple[Row, Row, Row, int, int, Row, float, float, float, float]
"""Lists of neighbours, the first of a can's own and the one after its last; heights of the wires,
gaps to the left and right guide, can diameter and height [mm]."""
Worst = tuple[float, float, float]
"""Worst lean so far, its bearing [rad], and the travel that does not lead to a worse one [mm]."""


@kernel
def free_travels_mm(
    cans: Sequence[int],
    indptr: Sequence[int],
    x: Row,
    y: Row,
    power: Row,
    brushed: float,
    cos: Row,
    sin: Row,
) -> Floats:
    """How far the discs of cans move along each of some directions before they meet a neighbour's.

    Parameters
    ----------
    cans : sequence of int, length m
        Which cans.
    indptr, x, y, power : sequence
        Lists of neighbours, see `packsim.pack.neighbours.neighbour_lists`, and their powers.
    brushed : float
        A neighbour less far along a direction is only brushed: it does not count. Along a common
        tangent two touching cans do not stop each other [mm].
    cos, sin : sequence of float, length k
        The directions [-].

    Returns
    -------
    ndarray, shape (m, k)
        Least over the neighbours of δ = a − √(D² − b²), with a the neighbour's distance along the
        direction and b off it; below 0 where cans overlap, `FAR_MM` where nobody is in the way
        [mm].

    Notes
    -----
    D² − b² = a² − (d² − D²), so the power d² − D², which does not turn, saves a product and is
    exact for cans in contact.
    """
    travel = np.full((len(cans), len(cos)), FAR_MM)
    for row in range(len(cans)):
        least = travel[row]
        for e in range(indptr[cans[row]], indptr[cans[row] + 1]):
            dx, dy, square = x[e], y[e], power[e]
            for k in range(len(cos)):  # no branches: several directions are done at once
                along = dx * cos[k] + dy * sin[k]
                inside = along * along - square
                here = along - math.sqrt(inside if inside > 0.0 else 0.0)
                here = here if (inside > 0.0) & (along > brushed) else FAR_MM
                least[k] = here if here < least[k] else least[k]
    return travel


@kernel
def at_wire_mm(gap: float, cos_off: float, wires: Row, height: float) -> tuple[float, float]:
    """Where a can that leans over a guide touches the wire that stops it, seen from its far foot.

    Returns
    -------
    tuple of float
        How far out and how high: the highest wire that its wall reaches. Its whole height out and
        on the mat where none stops it [mm].
    """
    out, at = height, 0.0
    if gap < height and cos_off > 1e-12:
        here = max(gap, 0.0) / cos_off
        for z in wires:
            if z >= at and here * here + z * z < height * height:
                out, at = here, z
    return out, at


@kernel
def on_wire_rad(gap: float, cos_off: float, wires: Row, height: float) -> float:
    """`packsim.tipping.stops.wire_lean_rad` of one can in one direction [rad]."""
    out, at = at_wire_mm(gap, cos_off, wires, height)
    return math.atan2(out, at)


@kernel
def _asked(around: Around, ux: float, uy: float, worst: Worst) -> Worst:
    """Return the worst with one more direction asked, see `free_travels_mm`."""
    x, y, power, first, last, wires, left, right, diameter, height = around
    travel, enough, brushed = FAR_MM, worst[2], CONTACT_TOL_REL * diameter
    for e in range(first, last):
        along = x[e] * ux + y[e] * uy
        if along > brushed:
            inside = along * along - power[e]
            if inside > 0.0:
                travel = min(travel, along - math.sqrt(inside))
                if travel <= enough:
                    return worst
    lean = math.asin(min(1.0, travel / height))
    lean = min(lean, on_wire_rad(left, -uy, wires, height))
    lean = min(lean, on_wire_rad(right, uy, wires, height))
    if lean <= worst[0]:
        return worst
    return lean, math.atan2(uy, ux) % (2.0 * math.pi), height * math.sin(lean) * _NEARLY


@kernel
def _arc_ends(around: Around, worst: Worst) -> Worst:
    """Ask the far sides of the neighbours' arcs, asin(D / d) and a little off their bearings."""
    x, y, power, first, last, _, _, _, diameter, _ = around
    for e in range(first, last):
        tangent, aside = math.sqrt(max(power[e], 0.0)), diameter
        tangent, aside = tangent - _PAST_ARC_RAD * aside, aside + _PAST_ARC_RAD * tangent
        scale = 1.0 / math.sqrt((x[e] * x[e] + y[e] * y[e]) * (tangent * tangent + aside * aside))
        for turn in (-aside, aside):
            ux = (x[e] * tangent - y[e] * turn) * scale
            uy = (y[e] * tangent + x[e] * turn) * scale
            worst = _asked(around, ux, uy, worst)
    return worst


@kernel
def _pockets(around: Around, worst: Worst) -> Worst:
    """Ask the corners of the rhombs of any two neighbours, where both stop the can at once."""
    x, y, _, first, last, _, _, _, diameter, height = around
    least = max(height * math.sin(worst[0]), _SHORTEST_MM)
    for i in range(first, last - 1):
        for j in range(i + 1, last):
            hx, hy = (x[j] - x[i]) / 2.0, (y[j] - y[i]) / 2.0
            square = diameter**2 / max(hx * hx + hy * hy, 1e-12) - 1.0
            if square > 0.0:
                step = math.sqrt(square)
                for turn in (step, -step):
                    px, py = x[i] + hx - turn * hy, y[i] + hy + turn * hx
                    way = px * px + py * py
                    if (
                        way > least * least
                        and px * x[i] + py * y[i] >= way
                        and px * x[j] + py * y[j] >= way
                    ):
                        way = math.sqrt(way)
                        worst = _asked(around, px / way, py / way, worst)
    return worst


@kernel
def _at_wire(around: Around, side: float, z: float, worst: Worst) -> Worst:
    """Ask the far side of a wire's arc, and where the wire and a neighbour stop a can at once."""
    x, y, _, first, last, _, left, right, diameter, height = around
    gap = right if side > 0.0 else left
    reach = math.sqrt(height * height - z * z)
    if gap < reach:
        off = math.acos(min(max(gap / reach, 0.0), 1.0)) + _PAST_ARC_RAD
        for sign in (-1.0, 1.0):
            worst = _asked(around, sign * math.sin(off), side * math.cos(off), worst)
    amplified, square = max(gap, 0.0) * height / z, diameter * diameter
    for e in range(first, last):
        for sign in (-1.0, 1.0):
            px, across, root = 0.0, amplified, 0.0
            for _ in range(_WIRE_ROUNDS):
                before, off = across, side * across - y[e]
                root = square - off * off
                px = x[e] + (sign * math.sqrt(root) if root > 0.0 else 0.0)
                cos2 = 1.0 - (px * px + across * across) / (height * height)
                across = amplified * math.sqrt(cos2) if cos2 > 0.0 else 0.0
                if across == before:
                    break
            way = math.hypot(px, across)
            if root > 0.0 and _SHORTEST_MM < way < height:
                worst = _asked(around, px / way, side * across / way, worst)
    return worst


@kernel
def worst_leans_rad(
    cans: Sequence[int],
    indptr: Sequence[int],
    x: Row,
    y: Row,
    power: Row,
    left: Row,
    right: Row,
    wires: Row,
    diameter: float,
    height: float,
    lean: Row,
    bearing: Row,
) -> tuple[Floats, Floats]:
    """Raise the worst leans found on a grid to the true worst over all directions.

    Parameters
    ----------
    cans : sequence of int, length m
        Which cans.
    indptr, x, y, power : sequence
        Lists of neighbours, as for `free_travels_mm`; complete up to the leans that come out.
    left, right : sequence of float
        Gaps of all cans to the guides [mm].
    wires : sequence of float
        Heights of the guide wires [mm].
    diameter, height : float
        Of a can [mm].
    lean, bearing : sequence of float, length m
        Worst lean so far and its direction [rad].

    Returns
    -------
    lean, bearing : ndarray, shape (m,)
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
    worst_lean, worst_bearing = np.empty(len(cans)), np.empty(len(cans))
    for row in range(len(cans)):
        can = cans[row]
        own = indptr[can], indptr[can + 1]
        around = x, y, power, *own, wires, left[can], right[can], diameter, height
        worst = lean[row], bearing[row], height * math.sin(lean[row]) * _NEARLY
        worst = _arc_ends(around, worst)
        worst = _pockets(around, worst)
        for side, gap in ((-1.0, left[can]), (1.0, right[can])):
            for z in wires:
                if gap < height and z < height:
                    worst = _at_wire(around, side, z, worst)
        worst_lean[row], worst_bearing[row] = worst[0], worst[1]
    return worst_lean, worst_bearing
