"""What it costs to tip a can over, alone or with its neighbours giving way."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.check import finite
from packsim.tipping.safe_slack import checked_balance_rad
from packsim.tipping.wire_lean import overhang_mm


def balance_under_load_rad(stance: Stance, vertical_N: float, overturning_N_mm: float) -> float:
    """Balance angle under a steady load, α_e = α − asin(min(1, |B| / (N ρ))) [rad].

    Parameters
    ----------
    stance : Stance
        The can as it stands.
    vertical_N : float
        Net push on the mat, N = weight + top sprays − bottom sprays [N].
    overturning_N_mm : float
        Overturning moment B of the sprays in their worst direction [N mm].

    Returns
    -------
    float
        Balance angle left, 0 at least; 0 too when the can is lifted, N <= 0 [rad].

    Notes
    -----
    About the rim, a lean θ rights with N ρ sin(α − θ), ρ the arm to the centre of gravity; it
    balances the load at sin(α − θ) = B / (N ρ). Derived here; the spray's vertical push is taken to
    act like weight.

    Examples
    --------
    >>> can = Stance(66.09, 124.3, 0.0102, 74.2)
    >>> balance_under_load_rad(can, can.weight_N, 0.0) == can.balance_angle_rad
    True
    >>> balance_under_load_rad(can, 0.0, 0.0)
    0.0
    """
    finite("vertical_N", vertical_N)
    moment = abs(finite("overturning_N_mm", overturning_N_mm))
    if vertical_N <= 0.0:
        return 0.0
    used = math.asin(min(1.0, moment / (vertical_N * stance.arm_mm)))
    return max(0.0, stance.balance_angle_rad - used)


def lean_energy_mJ(
    lean_rad: ArrayLike,
    stance: Stance,
    vertical_N: float | None = None,
    balance_rad: float | None = None,
) -> Floats:
    """Energy to lean one can by θ, N ρ [cos(α_e − θ) − cos α_e] [mJ].

    Parameters
    ----------
    lean_rad : array_like, any shape
        Lean θ; beyond the balance angle it counts as the balance angle [rad].
    stance : Stance
        The can as it stands.
    vertical_N : float, optional
        Net push on the mat; its weight by default [N].
    balance_rad : float, optional
        Effective balance angle; the stance's own by default [rad].

    Returns
    -------
    ndarray
        Energy [mJ]; 0 for a lifted can.

    Notes
    -----
    Work of the righting moment N ρ sin(α_e − θ). For a can under its weight alone it is the rise of
    the centre of gravity times the weight.

    Examples
    --------
    >>> can = Stance(66.09, 124.3, 0.0102, 74.2)
    >>> float(lean_energy_mJ(can.balance_angle_rad, can))  # weight times (arm - cg height)
    0.703
    """
    alpha = checked_balance_rad(stance, balance_rad)
    push = max(0.0, stance.weight_N if vertical_N is None else finite("vertical_N", vertical_N))
    lean = np.clip(np.asarray(lean_rad, dtype=np.float64), 0.0, alpha)
    # cos(α − θ) − cos α as a product keeps the digits of a small lean
    part = 2.0 * np.sin(alpha - lean / 2.0) * np.sin(lean / 2.0)
    energy: Floats = push * stance.arm_mm * part
    return energy


def chain_energy_mJ(
    gaps_mm: ArrayLike,
    stance: Stance,
    wire_heights_mm: Sequence[float],
    vertical_N: float | None = None,
    balance_rad: float | None = None,
) -> Floats:
    """Energy to bring the first can of a chain to its balance point, the rest leaning with it [mJ].

    Parameters
    ----------
    gaps_mm : array_like, shape (..., n)
        Gaps of a chain of n cans towards a guide: first to second can, and so on, and last the gap
        from the last can to the guide wires [mm].
    stance : Stance
        The can as it stands.
    wire_heights_mm : sequence of float
        Heights of that guide's wires [mm].
    vertical_N, balance_rad
        As for `lean_energy_mJ`.

    Returns
    -------
    ndarray, shape (...)
        Σ_k U(θ_k) with H sin θ_1 = H sin α_e and H sin θ_k = max(0, H sin α_e − Σ_{i<k} g_i);
        infinite where the chain is spent before the first can balances [mJ].

    Notes
    -----
    Each can must give way by what the gaps before it leave of the first one's H sin α_e. At the
    guide a gap is good for more than itself: the top of the last can stands out further than the
    wire it leans on (`overhang_mm`), so the chain has Σ g_i + overhang(last gap) to give. For a can
    alone at the guide that is the rule of `edge_slack_mm`. Derived here; cans stay on their bases.
    """
    gaps = np.maximum(np.asarray(gaps_mm, dtype=np.float64), 0.0)
    alpha = checked_balance_rad(stance, balance_rad)
    reach = stance.height_mm * math.sin(alpha)
    before = np.cumsum(gaps, axis=-1) - gaps
    left = np.maximum(reach - before, 0.0)
    energy = lean_energy_mJ(np.arcsin(left / stance.height_mm), stance, vertical_N, alpha)
    give = before[..., -1] + overhang_mm(gaps[..., -1], wire_heights_mm, stance.height_mm)
    total: Floats = np.where(give >= reach, energy.sum(axis=-1), np.inf)
    return total


def row_energies_mJ(
    gaps_mm: ArrayLike,
    stance: Stance,
    wire_heights_mm: Sequence[float],
    vertical_N: float | None = None,
    balance_rad: float | None = None,
) -> tuple[Floats, Floats]:
    """Energy to tip each can of whole rows, to the left and to the right [mJ].

    Parameters
    ----------
    gaps_mm : array_like, shape (..., n + 1)
        Gaps of rows of n cans from guide to guide, both guide gaps included [mm].
    stance, wire_heights_mm, vertical_N, balance_rad
        As for `chain_energy_mJ`.

    Returns
    -------
    left_mJ, right_mJ : ndarray, shape (..., n)
        Energy of each can's chain to the left and to the right guide [mJ].
    """
    gaps = np.asarray(gaps_mm, dtype=np.float64)
    n = gaps.shape[-1] - 1
    load = (stance, wire_heights_mm, vertical_N, balance_rad)
    left = [chain_energy_mJ(gaps[..., k::-1], *load) for k in range(n)]
    right = [chain_energy_mJ(gaps[..., k + 1 :], *load) for k in range(n)]
    return np.stack(left, axis=-1), np.stack(right, axis=-1)
