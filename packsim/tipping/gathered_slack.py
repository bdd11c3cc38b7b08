"""How much slack can really gather at each can of a given pack, and how far it could lean then.

Everything that can move is pushed to one side; what then lies open on the other side of a can is
the room its chain of neighbours has to lean into.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance
from packsim.compiled import kernel, run
from packsim.constants import CONTACT_TOL_REL
from packsim.errors import positive
from packsim.pack.neighbours import neighbour_lists
from packsim.tipping.stops import lean_index, wire_lean_rad

_FIRST_LOOK_REL = 0.7
"""First look for blocking cans this many diameters of gap away; wider only where that is short."""


def overhang_mm(
    gap_mm: ArrayLike, wire_heights_mm: Sequence[ArrayLike], height_mm: float | Floats
) -> Floats:
    """How far the top edge of a can leaning on its guide wire stands out, H sin θ [mm].

    Parameters
    ----------
    gap_mm : array_like, any shape
        Distance from can wall to wire face [mm].
    wire_heights_mm, height_mm
        As for `wire_lean_rad`.

    Returns
    -------
    ndarray
        H g / √(g² + z²) for the highest wire that touches, H where none does [mm]; never less
        than the gap itself. To the tops of the cans behind, the guide is this far away.

    Examples
    --------
    >>> float(overhang_mm(9.0, [90.0], 124.0))
    12.338
    """
    return height_mm * np.sin(wire_lean_rad(gap_mm, wire_heights_mm, height_mm))


def lateral_travel_mm(
    centres_mm: Floats,
    diameter_mm: float,
    *,
    left_mm: ArrayLike,
    right_mm: ArrayLike,
    period_mm: float | None = None,
) -> tuple[Floats, Floats]:
    """How far every can shifts when the whole pack is pushed to the left, and to the right [mm].

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, x along travel, y across [mm].
    diameter_mm : float
        Can diameter D [mm].
    left_mm, right_mm : array_like, scalars or shape (n,)
        Guide faces, at each can if they are not straight [mm].
    period_mm : float, optional
        Length after which the pack repeats along x [mm].

    Returns
    -------
    left_mm, right_mm : ndarray, shape (n,)
        Travel of each can straight across [mm]; 0 for cans pressed against a guide.

    Notes
    -----
    A can meets one ahead of it, dx aside, after δ = dy − √(D² − dx²). When all are pushed, it stops
    after t_i = min(gap to the guide, min over j of δ_ij + t_j): the shortest path to the guide. A
    can is always farther across than the one it meets, so going through the cans from that guide
    on finds every path in one pass. Derived here. Cans move straight across
    only; what a pack could gain by shuffling along travel is not counted.
    """
    d = positive("diameter_mm", diameter_mm)
    y = centres_mm[:, 1]
    left = np.maximum(y - d / 2.0 - np.asarray(left_mm, dtype=np.float64), 0.0)
    right = np.maximum(np.asarray(right_mm, dtype=np.float64) - y - d / 2.0, 0.0)
    to_left = pushed_travel_mm(centres_mm, -1.0, left, d, period_mm)
    return to_left, pushed_travel_mm(centres_mm, 1.0, right, d, period_mm)


def pushed_travel_mm(
    centres_mm: Floats, side: float, stop_mm: Floats, diameter_mm: float, period_mm: float | None
) -> Floats:
    """Travel of each can towards one side, given where the guide alone would stop it [mm].

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres [mm].
    side : float
        +1 towards the right guide, -1 towards the left.
    stop_mm : ndarray, shape (n,)
        Travel after which the guide stops each can [mm].
    diameter_mm : float
        Can diameter D [mm].
    period_mm : float or None
        Length after which the pack repeats along x [mm].

    Returns
    -------
    ndarray, shape (n,)
        Least over all chains of cans of the gaps along the chain and the stop of its last can [mm].
    """
    looked = _FIRST_LOOK_REL * diameter_mm
    first = np.argsort(-side * centres_mm[:, 1], kind="stable")  # a can meets only those before it
    while True:
        cutoff = diameter_mm + looked
        indptr, indices, x, y = neighbour_lists(centres_mm, cutoff, period_mm)
        given = first, indptr, indices, x, side * y, stop_mm, diameter_mm
        travel: Floats = run(_pushed, indices.size, *given)
        longest = float(travel.max(initial=0.0))
        if longest <= looked:
            return travel
        looked = longest  # nobody farther can stop a can earlier, so one more look settles it


@kernel
def _pushed(
    first: Sequence[int],
    indptr: Sequence[int],
    indices: Sequence[int],
    x: Sequence[float],
    ahead: Sequence[float],
    stop: Sequence[float],
    diameter: float,
) -> Floats:
    """Travel of each can, worked out in an order in which those it can meet come first."""
    travel = np.empty(len(stop))
    for i in first:
        least = stop[i]
        for e in range(indptr[i], indptr[i + 1]):
            aside2 = diameter**2 - x[e] ** 2
            # a can that is only brushed is no obstacle, as in `free_travels_mm`
            if ahead[e] > 0.0 and aside2 > 2.0 * CONTACT_TOL_REL * diameter**2:
                free = max(ahead[e] - math.sqrt(aside2), 0.0)
                least = min(least, free + travel[indices[e]])
        travel[i] = least
    return travel


@dataclass(frozen=True, slots=True, eq=False)
class GatheredLean:
    """Slack that can gather at each of n cans, and the lean it allows.

    Parameters
    ----------
    left_travel_mm, right_travel_mm : ndarray, shape (n,)
        How far each can shifts to either side when the whole pack is pushed there [mm].
    slack_mm : ndarray, shape (n,)
        Their sum: the slack of the chain of cans through this one [mm].
    left_rad, right_rad : ndarray, shape (n,)
        Lean to either side when all of that has gathered there [rad].
    worst_rad : ndarray, shape (n,)
        The larger of the two [rad].
    to_right : ndarray of bool, shape (n,)
        Whether that is to the right.
    index : ndarray, shape (n,)
        Worst lean over the balance angle [-]; infinite where nothing stops the can.
    """

    left_travel_mm: Floats
    right_travel_mm: Floats
    slack_mm: Floats
    left_rad: Floats
    right_rad: Floats
    worst_rad: Floats
    to_right: Bools
    index: Floats


def gathered_lean(
    centres_mm: Floats,
    stance: Stance,
    *,
    left_mm: ArrayLike,
    right_mm: ArrayLike,
    wire_heights_mm: Sequence[float],
    period_mm: float | None = None,
    balance_rad: float | None = None,
) -> GatheredLean:
    """Lean of every can when all the slack of its chain has gathered on the side it leans to.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        As for `lateral_travel_mm` [mm].
    stance : Stance
        The can as it stands.
    left_mm, right_mm : array_like
        As for `lateral_travel_mm` [mm].
    wire_heights_mm : sequence of float
        Guide wire heights [mm].
    period_mm : float, optional
        As for `lateral_travel_mm` [mm].
    balance_rad : float, optional
        Balance angle under load; the stance's own by default [rad].

    Returns
    -------
    GatheredLean
        Travels, gathered slack and leans.

    Notes
    -----
    For leans to the right, every can is first pushed left. A can then at a gap g from the right
    guide leans until its wall meets a wire, its top g H cos θ / z out (`overhang_mm`); to the tops
    behind it the guide is that far away, so a can behind leans to
    H sin θ = min over j of (δ_ij + top travel of j). The gap at the guide therefore counts
    amplified for the whole chain, the worst place for slack while wires are below the shoulders.
    An upper bound: a leaning can's back wall gives its follower less room than its top
    (`packsim.tipping.safe_slack.safe_slack`). Derived here.
    """
    positions = np.asarray(centres_mm, dtype=np.float64)
    d = stance.diameter_mm
    faces = {"left_mm": left_mm, "right_mm": right_mm}
    to_left, to_right = lateral_travel_mm(positions, d, **faces, period_mm=period_mm)
    alpha = stance.balance_under_load_rad(balance_rad)
    leans = []
    # for leans to a side the pack is first pushed the other way, by the travel it has there
    for side, rest, face in ((-1.0, to_right, left_mm), (1.0, to_left, right_mm)):
        pushed = positions - np.column_stack((np.zeros(len(rest)), side * rest))
        gap = side * (np.asarray(face, dtype=np.float64) - pushed[:, 1]) - d / 2.0
        top = overhang_mm(gap, wire_heights_mm, stance.height_mm)
        out = pushed_travel_mm(pushed, side, top, d, period_mm)
        leans.append(np.arcsin(np.minimum(1.0, out / stance.height_mm)))
    left, right = leans
    worst = np.maximum(left, right)
    slack = to_left + to_right
    return GatheredLean(
        left_travel_mm=to_left,
        right_travel_mm=to_right,
        slack_mm=slack,
        left_rad=left,
        right_rad=right,
        worst_rad=worst,
        to_right=right > left * (1.0 + 1e-12),
        index=lean_index(worst, alpha),
    )
