"""What stops a can that leans: a guide wire beside it, or a hold-down mat over it.

A leaning can first grows taller: its far top edge rises. A mat hung low enough over the cans meets
that edge before the can reaches its balance point.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.can import Stance, Stances
from packsim.errors import positive

NOTHING_HOLDS_RAD = math.pi / 2.0
"""Lean reported where nothing stops the can: it lies down."""


def wire_lean_rad(
    gap_mm: ArrayLike,
    wire_heights_mm: Sequence[ArrayLike],
    height_mm: ArrayLike,
    cos_off: ArrayLike = 1.0,
) -> Floats:
    """Lean at which a can beside a guide is stopped by one of its wires [rad].

    Parameters
    ----------
    gap_mm : array_like, any shape
        Distance from can wall to wire face; below 0 counts as 0 [mm].
    wire_heights_mm : sequence of array_like
        Heights of the wires above the mat; NaN for one that is gone [mm].
    height_mm : array_like
        Can height H [mm].
    cos_off : array_like, broadcasts with ``gap_mm``
        Cosine of the angle between the lean and the guide's normal [-]; leaning along or away
        from the guide (0 or less) meets no wire.

    Returns
    -------
    ndarray
        Smallest lean at which a wire touches, `NOTHING_HOLDS_RAD` where none does [rad].

    Notes
    -----
    The wall of a can leaning by θ about its base rim stands z tan θ out at height z, and ends at
    its shoulder, H cos θ up. So a wire at height z and gap g touches at tan θ = g / (z cos ψ),
    provided z < H cos θ, i.e. (g / cos ψ)² + z² < H²; the shoulder of a can that leans further has
    passed below the wire. Derived here. Exact for ψ = 0; off the normal the curved wall meets the
    wire later by the share R θ (1 − cos ψ) / 2z (under 2 % at θ = 0.3, ψ = 45°).

    Examples
    --------
    >>> np.degrees(wire_lean_rad([9.0, 95.0, 150.0], [50.0, 90.0], 124.0)).tolist()
    [5.711, 62.241, 90.0]
    """
    gap = np.maximum(np.asarray(gap_mm, dtype=np.float64), 0.0)
    toward = np.asarray(cos_off, dtype=np.float64)
    facing = toward > 1e-12  # a lean along the guide never meets it; avoids dividing by 0
    out = gap / np.where(facing, toward, 1.0)
    height = np.asarray(height_mm, dtype=np.float64)
    lean = np.full(np.broadcast_shapes(out.shape, height.shape), NOTHING_HOLDS_RAD)
    for z in map(np.asarray, wire_heights_mm):
        touches = facing & (out * out + z * z < height * height)
        np.minimum(lean, np.arctan2(out, z), out=lean, where=touches)
    return lean


def lean_index(lean_rad: ArrayLike, balance_rad: ArrayLike) -> Floats:
    """Lean over balance angle, 1 where a can is at its balance point [-].

    Infinite where nothing stops the can, or a load has used up the balance angle; arrays are
    broadcast together [rad].
    """
    lean, balance = np.broadcast_arrays(lean_rad, balance_rad)
    stands = (balance > 0.0) & (lean < NOTHING_HOLDS_RAD)
    index: Floats = np.full(lean.shape, math.inf)
    np.divide(lean, balance, out=index, where=stands)
    return index


@dataclass(frozen=True, slots=True)
class HoldDown:
    """What a hold-down mat does to one can size.

    Parameters
    ----------
    clearance_mm : float
        Underside of the mat over the can tops [mm].
    meets_rad : float
        Lean at which the can meets the mat; infinite if it never does or is crushed [rad].
    limit_mm : float
        Clearance below which the can cannot reach its balance point [mm].
    state : {"crushes", "blocks", "too high", "never touches"}
        ``crushes``: the mat hangs below the can tops. ``blocks``: no can can reach its balance
        point. ``too high``: the can meets the mat, but past its balance point. ``never touches``:
        the can passes under it however it falls.
    reason : str
        The state in a sentence.
    """

    clearance_mm: float
    meets_rad: float
    limit_mm: float
    state: str
    reason: str

    @property
    def blocks(self) -> bool:
        """Whether the mat keeps an upright can from its balance point."""
        return self.state == "blocks"


def rise_mm(stance: Stance | Stances, lean_rad: ArrayLike) -> Floats:
    """Rise of the far top edge of a can leaning by θ, 2R sin θ + H cos θ − H [mm].

    Parameters
    ----------
    stance : Stance or Stances
        The can, or cans.
    lean_rad : array_like
        Lean about its base rim [rad].

    Returns
    -------
    ndarray
        Rise above the upright can's top [mm]; largest, hypot(2R, H) − H, at atan(2R / H).

    Notes
    -----
    The far top edge is 2R from the pivot across and H up; turning by θ lifts it so. Derived here.

    Examples
    --------
    >>> float(rise_mm(Stance(60.0, 80.0, 0.01, 40.0), math.atan2(60.0, 80.0)))
    20.0
    """
    lean = np.asarray(lean_rad)
    # H (cos θ − 1) without losing the digits of a small lean
    fall = 2.0 * stance.height_mm * np.sin(lean / 2.0) ** 2
    return np.asarray(stance.diameter_mm * np.sin(lean) - fall)


def clearance_limit_mm(stance: Stance, balance_rad: float | None = None) -> float:
    """Clearance below which a hold-down mat keeps a can from its balance point [mm].

    Parameters
    ----------
    stance : Stance
        The can.
    balance_rad : float, optional
        Balance angle under load; the stance's own by default [rad].

    Returns
    -------
    float
        Largest rise on the way to the balance point [mm]. The mat may hang no higher than
        ``stance.height_mm`` plus this.

    Notes
    -----
    The rise grows up to atan(2R / H). With the centre of gravity above mid-height, as in a can
    standing on its open end, balance comes first and the limit is the rise there.

    Examples
    --------
    >>> clearance_limit_mm(Stance(66.09, 124.3, 0.0102, 74.2))
    16.14
    """
    alpha = stance.balance_under_load_rad(balance_rad)
    peak = math.atan2(2.0 * stance.radius_mm, stance.height_mm)
    return float(rise_mm(stance, min(alpha, peak)))


def hold_down_blocks(cans: Stances, hold_down_mm: Floats | float, balance_rad: ArrayLike) -> Bools:
    """Return whether hold-down mats keep cans from balance angles, as `HoldDown.blocks` says it.

    NaN for no mat; all are broadcast together.
    """
    clearance = hold_down_mm - cans.height_mm
    peak = np.arctan2(cans.diameter_mm, cans.height_mm)
    limit = rise_mm(cans, np.minimum(balance_rad, peak))
    return np.asarray((clearance >= 0.0) & (clearance < limit))


def meeting_lean_rad(stance: Stance, hold_down_mm: float) -> float:
    """Lean at which a can meets a hold-down mat [rad].

    Parameters
    ----------
    stance : Stance
        The can.
    hold_down_mm : float
        Underside of the mat above the conveying mat [mm].

    Returns
    -------
    float
        Smallest lean with 2R sin θ + H cos θ = hold-down height; 0 if the mat touches the tops,
        infinite if the can never reaches it, or if the mat hangs lower: it crushes cans then and
        never counts as holding them [rad].

    Notes
    -----
    2R sin θ + H cos θ = hypot(2R, H) cos(θ − atan(2R / H)), so
    θ = atan(2R / H) − acos(height / hypot(2R, H)).

    Examples
    --------
    >>> meeting_lean_rad(Stance(60.0, 80.0, 0.01, 40.0), 100.0)
    0.6435
    """
    height = positive("hold_down_mm", hold_down_mm)
    across, diagonal = stance.diameter_mm, math.hypot(stance.diameter_mm, stance.height_mm)
    if height == stance.height_mm:
        return 0.0
    if not stance.height_mm < height <= diagonal:
        return math.inf
    return math.atan2(across, stance.height_mm) - math.acos(height / diagonal)


def hold_down(stance: Stance, hold_down_mm: float, balance_rad: float | None = None) -> HoldDown:
    """Judge the height of a hold-down mat for one can size.

    Parameters
    ----------
    stance : Stance
        The can.
    hold_down_mm : float
        Underside of the mat above the conveying mat [mm].
    balance_rad : float, optional
        Balance angle under load; the stance's own by default [rad].

    Returns
    -------
    HoldDown
        Clearance, meeting lean, clearance limit and state. A mat that touches the tops or hangs
        lower is a result too, with its reason.

    Examples
    --------
    >>> can = Stance(66.09, 124.3, 0.0102, 74.2)
    >>> [hold_down(can, h).state for h in (120.0, 130.0, 140.6, 145.0)]
    ['crushes', 'blocks', 'too high', 'never touches']
    """
    meets = meeting_lean_rad(stance, hold_down_mm)
    clearance = hold_down_mm - stance.height_mm
    limit = clearance_limit_mm(stance, balance_rad)
    return HoldDown(clearance, meets, limit, *_state(clearance, limit, meets))


def _state(clearance_mm: float, limit_mm: float, meets_rad: float) -> tuple[str, str]:
    if clearance_mm < 0.0:
        return "crushes", f"the mat hangs {-clearance_mm:.1f} mm below the can tops"
    if clearance_mm < limit_mm:
        return "blocks", f"{clearance_mm:.1f} mm clearance is below the limit {limit_mm:.1f} mm"
    if math.isinf(meets_rad):
        return "never touches", f"{clearance_mm:.1f} mm clearance is more than a falling can rises"
    return "too high", f"{clearance_mm:.1f} mm clearance lets the can reach balance first"
