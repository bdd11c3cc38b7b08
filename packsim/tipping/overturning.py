"""What it costs to tip a can over, alone or with the neighbours of its row giving way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError, finite
from packsim.tipping.gathered_slack import overhang_mm
from packsim.tipping.safe_slack import edge_slack_mm, safe_slack


def lean_energy_mJ(lean_rad: ArrayLike, stance: Stance, balance_rad: float | None = None) -> Floats:
    """Energy to lean one can by θ, m g ρ [cos(α_e − θ) − cos α_e] [mJ].

    Parameters
    ----------
    lean_rad : array_like, any shape
        Lean θ; beyond the balance angle it counts as the balance angle [rad].
    stance : Stance
        The can as it stands.
    balance_rad : float, optional
        Effective balance angle; the stance's own by default [rad].

    Returns
    -------
    ndarray
        Energy [mJ].

    Notes
    -----
    Work of the righting moment m g ρ sin(α_e − θ): the weight alone holds, the net push of sprays
    is left out. At the can's own balance angle it is the rise of the centre of gravity times the
    weight.

    Examples
    --------
    >>> can = Stance(66.09, 124.3, 0.0102, 74.2)
    >>> float(lean_energy_mJ(can.balance_angle_rad, can))  # weight times (arm - cg height)
    0.703
    """
    alpha = stance.balance_under_load_rad(balance_rad)
    lean = np.clip(np.asarray(lean_rad, dtype=np.float64), 0.0, alpha)
    # cos(α − θ) − cos α as a product keeps the digits of a small lean
    part = 2.0 * np.sin(alpha - lean / 2.0) * np.sin(lean / 2.0)
    energy: Floats = stance.weight_N * stance.arm_mm * part
    return energy


def chain_energy_mJ(
    gaps_mm: ArrayLike,
    stance: Stance,
    wire_heights_mm: Sequence[float],
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
    balance_rad : float, optional
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
    alpha = stance.balance_under_load_rad(balance_rad)
    reach = stance.height_mm * math.sin(alpha)
    before = np.cumsum(gaps, axis=-1) - gaps
    left = np.maximum(reach - before, 0.0)
    energy = lean_energy_mJ(np.arcsin(left / stance.height_mm), stance, alpha)
    give = before[..., -1] + overhang_mm(gaps[..., -1], wire_heights_mm, stance.height_mm)
    total: Floats = np.where(give >= reach, energy.sum(axis=-1), np.inf)
    return total


def row_energies_mJ(
    gaps_mm: ArrayLike,
    stance: Stance,
    wire_heights_mm: Sequence[float],
    balance_rad: float | None = None,
) -> tuple[Floats, Floats]:
    """Energy to tip each can of whole rows, to the left and to the right [mJ].

    Parameters
    ----------
    gaps_mm : array_like, shape (..., n + 1)
        Gaps of rows of n cans from guide to guide, both guide gaps included [mm].
    stance, wire_heights_mm, balance_rad
        As for `chain_energy_mJ`.

    Returns
    -------
    left_mJ, right_mJ : ndarray, shape (..., n)
        Energy of each can's chain to the left and to the right guide [mJ].
    """
    gaps = np.asarray(gaps_mm, dtype=np.float64)
    n = gaps.shape[-1] - 1
    load = (stance, wire_heights_mm, balance_rad)
    left = [chain_energy_mJ(gaps[..., k::-1], *load) for k in range(n)]
    right = [chain_energy_mJ(gaps[..., k + 1 :], *load) for k in range(n)]
    return np.stack(left, axis=-1), np.stack(right, axis=-1)


@dataclass(frozen=True, slots=True)
class RowLoad:
    """Everything about a row but its slack.

    Parameters
    ----------
    cans : int
        Number of cans n from guide to guide.
    stance : Stance
        The cans as they stand.
    wire_heights_mm : tuple of float
        Guide wire heights [mm].
    balance_rad : float or None
        Effective balance angle; the stance's own if None [rad].
    """

    cans: int
    stance: Stance
    wire_heights_mm: tuple[float, ...]
    balance_rad: float | None = None

    def __post_init__(self) -> None:
        if self.cans < 1:
            raise InputError("cans", self.cans, "at least 1")
        self.stance.balance_under_load_rad(self.balance_rad)

    @property
    def alpha_rad(self) -> float:
        """Effective balance angle [rad]."""
        return self.stance.balance_under_load_rad(self.balance_rad)

    @property
    def reach_mm(self) -> float:
        """How far the top is out at the balance point, H sin α_e [mm]."""
        return self.stance.height_mm * math.sin(self.alpha_rad)

    @property
    def safe_slack_mm(self) -> float:
        """Slack that cannot let a can past its balance point [mm]."""
        return safe_slack(self.stance, self.wire_heights_mm, self.balance_rad).slack_mm

    def held_by(self, slack_mm: float) -> bool:
        """Whether a slack lets no can past its balance point; none does without wires [mm]."""
        return 0.0 < self.safe_slack_mm >= slack_mm

    def energy_mJ(self, out_mm: Floats) -> Floats:
        """Energy to bring a can's top out by a distance, no more than to its balance [mJ]."""
        lean = np.arcsin(np.clip(out_mm / self.stance.height_mm, 0.0, 1.0))
        return lean_energy_mJ(lean, self.stance, self.alpha_rad)

    def needed_gap_mm(self, out_mm: Floats) -> Floats:
        """Guide gap that lets the edge can's top out by a distance; 0 with no wire below H [mm]."""
        height = self.stance.height_mm
        lean = np.arcsin(np.clip(out_mm / height, 0.0, 1.0))
        return edge_slack_mm(height, lean, self.wire_heights_mm)[0]


def gathered_energies_mJ(slack_mm: float, row: RowLoad) -> Floats:
    """Energy to tip the cans of a row towards a guide, all slack in the worst single gap [mJ].

    Parameters
    ----------
    slack_mm : float
        Slack of the row [mm].
    row : RowLoad
        The row.

    Returns
    -------
    ndarray, shape (n,)
        By place counted from that guide, the edge can first [mJ]; infinite where no gap is enough.

    Notes
    -----
    Just ahead of a can the slack lets it go alone, for U(α_e), if S >= H sin α_e. At the guide it
    must take every can between along, the k-th for k U(α_e), but there a smaller slack will do,
    since it counts amplified (`chain_energy_mJ`).
    """
    slack = finite("slack_mm", slack_mm)
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    energy = np.full(row.cans, np.inf)
    overhang = overhang_mm(slack, row.wire_heights_mm, row.stance.height_mm)
    if float(overhang) >= row.reach_mm:
        energy = alone * np.arange(1.0, row.cans + 1.0)
    if slack >= row.reach_mm:
        energy[1:] = alone
    return energy
