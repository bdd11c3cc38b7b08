"""Whether a can that leans past its balance point rests there, or its base slips from under it.

The leaning can is a ladder with a foot of its own width: it stands on the rim of its open end and
rests against an upright neighbour or a guide wire.
"""

import math
from dataclasses import dataclass

import numpy as np

from packsim.can import Stance
from packsim.errors import between, non_negative, positive

_SCAN = 721
"""Leans tried in search of the first slip on a wire, an eighth of a degree apart."""


@dataclass(frozen=True, slots=True)
class Sliding:
    """What becomes of a can that may lean as far as its neighbours let it.

    Parameters
    ----------
    outcome : {"falls back", "rests", "slides out"}
        Upright again by itself; stays leaning, held by friction; base slips and it goes down.
    lean_rad, balance_angle_rad, limit_rad : float
        Own lean, balance angle, and the lean at which the base slips [rad].
    friction_needed : float
        Least friction under the rim that holds the own lean; 0 below the balance angle, infinite
        where none does [-].
    """

    outcome: str
    lean_rad: float
    balance_angle_rad: float
    limit_rad: float
    friction_needed: float


def least_friction(
    stance: Stance,
    lean_rad: float,
    *,
    wire_height_mm: float | None = None,
    side_friction: float = 0.0,
) -> float:
    """Least friction under the rim that keeps a leaning can from slipping [-].

    Parameters
    ----------
    stance : Stance
        The can.
    lean_rad : float
        Its lean, 0..π/2 [rad].
    wire_height_mm : float, optional
        Height of the guide wire it rests on; without one its top edge rests on the wall of an
        upright neighbour [mm].
    side_friction : float
        Friction μ₂ where it rests [-].

    Returns
    -------
    float
        The friction coefficient; 0 up to the balance angle, where it needs no support. Infinite
        past it under a wire it no longer reaches, and where its rim is lifted off the mat.

    Notes
    -----
    Derived here. About the rim the weight turns the can down with m g (h sin θ − R cos θ).
    On a neighbour the push P is level, at height H cos θ, and friction μ₂P holds the top up.
    On a wire at z it is square to the wall, at z / cos θ from the rim, and friction lies along
    the wall, through the rim. Level and upright balance give what the mat must carry; their ratio
    is the answer. With R = 0, h = H/2 it is the ladder on a wall.
    """
    between("lean_rad", lean_rad, 0.0, math.pi / 2.0, "rad")
    side = non_negative("side_friction", side_friction)
    sin, cos = math.sin(lean_rad), math.cos(lean_rad)
    turning = stance.cg_mm * sin - stance.radius_mm * cos  # over the weight
    if turning <= 0.0:
        return 0.0
    if wire_height_mm is None:
        push = turning / (stance.height_mm * (cos + side * sin))
        level, upright = push, 1.0 - side * push
    else:
        if positive("wire_height_mm", wire_height_mm) > stance.height_mm * cos:
            return math.inf
        push = turning * cos / wire_height_mm
        level, upright = push * (cos - side * sin), 1.0 - push * (sin + side * cos)
    if level <= 0.0:  # the friction at the side alone holds it
        return 0.0
    return level / upright if upright > 0.0 else math.inf


def slide_limit_rad(
    stance: Stance,
    mat_friction: float,
    *,
    wire_height_mm: float | None = None,
    side_friction: float = 0.0,
) -> float:
    """Lean at which the base of a leaning can first slips from under it [rad].

    Parameters
    ----------
    stance : Stance
        The can.
    mat_friction : float
        Static friction μ₁ under its rim [-].
    wire_height_mm, side_friction : float
        As in `least_friction`.

    Returns
    -------
    float
        The lean, never below the balance angle; π/2 when it never slips.

    Notes
    -----
    On a neighbour, in closed form: tan θ = (R + n H) / (h − n μ₂ H) with n = μ₁/(1 + μ₁ μ₂). On a
    wire the need does not always rise with lean; the first slip is bracketed by a scan and
    bisected. There the limit is at most the lean whose top edge drops below the wire.
    """
    floor = non_negative("mat_friction", mat_friction)
    side = non_negative("side_friction", side_friction)
    if wire_height_mm is None:
        n = floor / (1.0 + floor * side)
        under = stance.cg_mm - n * side * stance.height_mm
        if under <= 0.0:
            return math.pi / 2.0
        return math.atan2(stance.radius_mm + n * stance.height_mm, under)

    def slips(lean: float) -> bool:
        need = least_friction(stance, lean, wire_height_mm=wire_height_mm, side_friction=side)
        return need > floor

    leans = np.linspace(stance.balance_angle_rad, math.pi / 2.0, _SCAN)
    first = next((i for i, lean in enumerate(leans) if slips(float(lean))), None)
    if first is None:
        return math.pi / 2.0
    if first == 0:
        return stance.balance_angle_rad
    low, high = float(leans[first - 1]), float(leans[first])
    while high - low > 1e-12:
        middle = (low + high) / 2.0
        low, high = (low, middle) if slips(middle) else (middle, high)
    return low


def sliding(
    stance: Stance,
    own_lean_rad: float,
    mat_friction: float,
    *,
    wire_height_mm: float | None = None,
) -> Sliding:
    """Say what becomes of a can whose neighbours or wire let it lean by ``own_lean_rad``.

    Parameters
    ----------
    stance : Stance
        The can.
    own_lean_rad : float
        Farthest it can lean before it rests on something [rad].
    mat_friction : float
        Static friction under its rim [-].
    wire_height_mm : float, optional
        As in `least_friction`; no friction at the side.

    Returns
    -------
    Sliding
        Outcome with the limit and the friction it would take.

    Examples
    --------
    >>> can = Stance(66.0, 124.0, 0.0102, 74.0)
    >>> [sliding(can, math.radians(deg), 0.3).outcome for deg in (20.0, 30.0, 60.0)]
    ['falls back', 'rests', 'slides out']
    """
    limit = slide_limit_rad(stance, mat_friction, wire_height_mm=wire_height_mm)
    need = least_friction(stance, own_lean_rad, wire_height_mm=wire_height_mm)
    balance = stance.balance_angle_rad
    if own_lean_rad <= balance:
        outcome = "falls back"
    else:
        outcome = "rests" if own_lean_rad <= limit else "slides out"
    return Sliding(outcome, own_lean_rad, balance, limit, need)
