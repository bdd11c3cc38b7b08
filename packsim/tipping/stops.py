"""What stops a leaning can: a guide wire beside it, a hold-down mat over it.

A can's shoulder may slip below a wire. And a leaning can first grows taller: a mat hung low enough
over the cans meets its far top edge before it reaches its balance point.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.check import finite, positive

NOTHING_HOLDS_RAD = math.pi / 2.0
"""Lean reported where nothing stops the can: it lies down."""


def wire_lean_rad(
    gap_mm: ArrayLike, wire_heights_mm: Sequence[float], height_mm: float, cos_off: ArrayLike = 1.0
) -> Floats:
    """Lean at which a can beside a guide is stopped by one of its wires [rad].

    ``gap_mm``: distance from can wall to wire face; below 0 counts as 0 [mm]. ``wire_heights_mm``:
    heights of the wires above the mat [mm]. ``height_mm``: can height H [mm]. ``cos_off``: cosine
    of the angle between the lean and the guide's normal [-]; leaning along or away from the guide
    (0 or less) meets no wire. Returns: smallest lean at which a wire touches, `NOTHING_HOLDS_RAD`
    where none does [rad].

    The wall of a can leaning by θ about its base rim stands z tan θ out at height z, and ends at
    its shoulder, H cos θ up. So a wire at height z and gap g touches at tan θ = g / (z cos ψ),
    provided z < H cos θ, i.e. (g / cos ψ)² + z² < H²; the shoulder of a can that leans further has
    passed below the wire. Derived here. Exact for ψ = 0; off the normal the curved wall meets the
    wire later by the share R θ (1 − cos ψ) / 2z (under 2 % at θ = 0.3, ψ = 45°).

    >>> np.degrees(wire_lean_rad([9.0, 95.0, 150.0], [50.0, 90.0], 124.0)).tolist()
    [5.711, 62.241, 90.0]
    """
    gap = np.maximum(np.asarray(gap_mm, dtype=np.float64), 0.0)
    toward = np.asarray(cos_off, dtype=np.float64)
    facing = toward > 1e-12  # a lean along the guide never meets it; avoids dividing by 0
    out = gap / np.where(facing, toward, 1.0)
    lean = np.full(out.shape, NOTHING_HOLDS_RAD)
    for z in wire_heights_mm:
        touches = facing & (out * out + z * z < height_mm * height_mm)
        np.minimum(lean, np.arctan2(out, z), out=lean, where=touches)
    return lean


def overhang_mm(gap_mm: ArrayLike, wire_heights_mm: Sequence[float], height_mm: float) -> Floats:
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


def wire_limit_mm(height_mm: float, balance_rad: ArrayLike, wire_mm: float) -> Floats:
    """Gap at a guide from which one wire still brings back a can that leans on it [mm].

    ``height_mm``: can height H [mm]. ``balance_rad``: balance angle α, the load included [rad].
    ``wire_mm``: wire height z [mm]. Returns: z tan α up to z = H cos α, √(H² − z²) from there to
    the top, 0 above it.

    A can that leans by θ meets the wire across a gap g when z tan θ = g, as long as its top edge,
    at H cos θ, is not below the wire (`wire_lean_rad`). The top edge passes under a wire at z when
    the gap is more than √(H² − z²), which happens before balance when z > H cos α. So the limit
    rises with the wire until z = H cos α, where it is H sin α, and falls to nothing from there to
    the top of the can: a wire close under the top of the can is not the safest. Derived here.

    >>> [float(wire_limit_mm(124.0, math.atan(33.0 / 74.0), z)) for z in (60.0, 113.2, 122.0)]
    [26.757, 50.481, 22.181]
    """
    z = positive("wire_mm", wire_mm)
    reach = math.sqrt(max(0.0, height_mm**2 - z**2))
    limit: Floats = np.minimum(z * np.tan(balance_rad), reach)
    return limit


def edge_slack_mm(
    height_mm: float, balance_rad: float, wire_heights_mm: Sequence[float]
) -> tuple[float, float | None]:
    """Most slack a set of wires can take before an edge can reaches its balance point.

    ``height_mm``: can height H [mm]. ``balance_rad``: effective balance angle α [rad].
    ``wire_heights_mm``: heights of the wires [mm]. Returns: ``limit_mm``: largest `wire_limit_mm`
    of the wires; 0 when no wire is below H [mm]; ``wire_mm``: the wire it belongs to [mm].

    >>> edge_slack_mm(124.3, math.radians(24.0), [45.0, 90.0])
    (40.07, 90.0)
    """
    best: tuple[float, float | None] = (0.0, None)
    for z in wire_heights_mm:
        limit = float(wire_limit_mm(height_mm, balance_rad, z))
        if limit > best[0] or (best[1] is None and z < height_mm):
            best = (limit, z)
    return best


@dataclass(frozen=True, slots=True)
class HoldDown:
    """What a hold-down mat does to one can size.

    Parameters
    ----------
    clearance_mm : float
        Underside of the mat over the can tops [mm].
    meets_rad : float
        Lean at which the can meets the mat; infinite if it never does [rad].
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


def rise_mm(stance: Stance, lean_rad: float) -> float:
    """Rise of the far top edge of a can leaning by θ, 2R sin θ + H cos θ − H [mm].

    ``lean_rad``: lean about its base rim [rad]. Returns: rise above the upright can's top [mm];
    largest, hypot(2R, H) − H, at atan(2R / H).

    The far top edge is 2R from the pivot across and H up; turning by θ lifts it so. Derived here.

    >>> rise_mm(Stance(60.0, 80.0, 0.01, 40.0), math.atan2(60.0, 80.0))
    20.0
    """
    across, up = 2.0 * stance.radius_mm, stance.height_mm
    # H (cos θ − 1) without losing the digits of a small lean
    return across * math.sin(lean_rad) - 2.0 * up * math.sin(lean_rad / 2.0) ** 2


def clearance_limit_mm(stance: Stance, balance_rad: float | None = None) -> float:
    """Clearance below which a hold-down mat keeps a can from its balance point [mm].

    ``balance_rad``: balance angle under load; the stance's own by default [rad]. Returns: largest
    rise on the way to the balance point [mm]. The mat may hang no higher than ``stance.height_mm``
    plus this.

    The rise grows up to atan(2R / H). With the centre of gravity above mid-height, as in a can
    standing on its open end, balance comes first and the limit is the rise there.

    >>> clearance_limit_mm(Stance(66.09, 124.3, 0.0102, 74.2))
    16.14
    """
    alpha = stance.balance_angle_rad if balance_rad is None else balance_rad
    peak = math.atan2(2.0 * stance.radius_mm, stance.height_mm)
    return rise_mm(stance, min(alpha, peak))


def meeting_lean_rad(stance: Stance, hold_down_mm: float) -> float:
    """Lean at which a can meets a hold-down mat [rad].

    ``hold_down_mm``: underside of the mat above the conveying mat [mm]. Returns: smallest lean with
    2R sin θ + H cos θ = hold-down height; 0 if the mat hangs at or below the can top, infinite if
    the can never reaches it [rad].

    2R sin θ + H cos θ = hypot(2R, H) cos(θ − atan(2R / H)), so
    θ = atan(2R / H) − acos(height / hypot(2R, H)).

    >>> meeting_lean_rad(Stance(60.0, 80.0, 0.01, 40.0), 100.0)
    0.6435
    """
    height = positive("hold_down_mm", hold_down_mm)
    across = 2.0 * stance.radius_mm
    diagonal = math.hypot(across, stance.height_mm)
    if height <= stance.height_mm:
        return 0.0
    if height > diagonal:
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
    if balance_rad is not None:
        finite("balance_rad", balance_rad)
    meets = meeting_lean_rad(stance, hold_down_mm)
    clearance = hold_down_mm - stance.height_mm
    limit = clearance_limit_mm(stance, balance_rad)
    state, reason = _state(clearance, limit, meets)
    return HoldDown(clearance, meets, limit, state, reason)


def _state(clearance_mm: float, limit_mm: float, meets_rad: float) -> tuple[str, str]:
    if clearance_mm < 0.0:
        return "crushes", f"the mat hangs {-clearance_mm:.1f} mm below the can tops"
    if clearance_mm < limit_mm:
        return "blocks", f"{clearance_mm:.1f} mm clearance is below the limit {limit_mm:.1f} mm"
    if math.isinf(meets_rad):
        return "never touches", f"{clearance_mm:.1f} mm clearance is more than a falling can rises"
    return "too high", f"{clearance_mm:.1f} mm clearance lets the can reach balance first"
