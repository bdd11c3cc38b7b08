"""One row of cans from guide to guide and what presses on it: everything but its slack."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError
from packsim.tipping.overturning import lean_energy_mJ
from packsim.tipping.safe_slack import checked_balance_rad
from packsim.tipping.wire_lean import wire_limit_mm


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
    vertical_N : float or None
        Net push of a can on the mat; its weight if None [N].
    balance_rad : float or None
        Effective balance angle; the stance's own if None [rad].
    """

    cans: int
    stance: Stance
    wire_heights_mm: tuple[float, ...]
    vertical_N: float | None = None
    balance_rad: float | None = None

    def __post_init__(self) -> None:
        if self.cans < 1:
            raise InputError("cans", self.cans, "at least 1")
        checked_balance_rad(self.stance, self.balance_rad)

    @property
    def alpha_rad(self) -> float:
        """Effective balance angle [rad]."""
        return checked_balance_rad(self.stance, self.balance_rad)

    @property
    def reach_mm(self) -> float:
        """How far the top is out at the balance point, H sin α_e [mm]."""
        return self.stance.height_mm * math.sin(self.alpha_rad)

    def energy_mJ(self, out_mm: Floats) -> Floats:
        """Energy to bring a can's top out by a distance, no more than to its balance [mJ]."""
        lean = np.arcsin(np.clip(out_mm / self.stance.height_mm, 0.0, 1.0))
        return lean_energy_mJ(lean, self.stance, self.vertical_N, self.alpha_rad)

    def needed_gap_mm(self, out_mm: Floats) -> Floats:
        """Guide gap that lets the edge can's top out by a distance; 0 with no wire below H [mm]."""
        height = self.stance.height_mm
        lean = np.arcsin(np.clip(out_mm / height, 0.0, 1.0))
        gap = np.zeros(lean.shape)
        for z in self.wire_heights_mm:
            np.maximum(gap, wire_limit_mm(height, lean, z), out=gap)
        return gap
