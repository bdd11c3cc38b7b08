"""How much slack can really gather at each can of a given pack, and how far it could lean then.

Everything that can move is pushed to one side; what then lies open on the other side of a can is
the room its chain of neighbours has to lean into.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance
from packsim.tipping.push_travel import lateral_travel_mm, pushed_travel_mm
from packsim.tipping.safe_slack import checked_balance_rad
from packsim.tipping.wire_lean import overhang_mm


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
    alpha = checked_balance_rad(stance, balance_rad)
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
    index = np.full(worst.shape, math.inf)
    fell = (worst >= math.pi / 2.0) | (alpha <= 0.0)
    np.divide(worst, alpha or 1.0, out=index, where=~fell)
    slack = to_left + to_right
    return GatheredLean(
        left_travel_mm=to_left,
        right_travel_mm=to_right,
        slack_mm=slack,
        left_rad=left,
        right_rad=right,
        worst_rad=worst,
        to_right=right > left,
        index=index,
    )
