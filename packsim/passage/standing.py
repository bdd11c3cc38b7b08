"""What each stage does to a can, and what it takes to tip it there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError
from packsim.line import Stage
from packsim.tipping.hold_down import meeting_lean_rad
from packsim.tipping.safe_slack import checked_balance_rad


@dataclass(frozen=True, slots=True, eq=False)
class Shaking:
    """What each of the k stages does to a can, arrays of shape (k,).

    Parameters
    ----------
    energy_mJ : ndarray
        Mean energy of a kick [mJ].
    rate_per_s : ndarray
        Kicks a can gets each second [1/s].
    step_mm : ndarray
        Root-mean-square step per kick and axis [mm].
    drift_mm_per_s : ndarray
        Steady drift to the right [mm/s].
    """

    energy_mJ: Floats
    rate_per_s: Floats
    step_mm: Floats
    drift_mm_per_s: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """How a can stands in each of the k stages.

    Parameters
    ----------
    height_mm : float
        Can height [mm].
    moment_mJ : ndarray, shape (k,)
        Support force times arm, N ρ [mJ].
    balance_rad : ndarray, shape (k,)
        Effective balance angle; 0 where the load alone tips a can [rad].
    meeting_rad : ndarray, shape (k,)
        Lean at which a can meets the hold-down, infinite where there is none [rad].
    wires_mm : tuple of tuple of float
        Guide wire heights of each stage [mm].
    factor : float
        Safety factor that parts loose from leaning cans [-].
    """

    height_mm: float
    moment_mJ: Floats
    balance_rad: Floats
    meeting_rad: Floats
    wires_mm: tuple[tuple[float, ...], ...]
    factor: float

    @property
    def least_energy_mJ(self) -> Floats:
        """Energy below which no kick can tip a can, wherever it stands, N ρ (1 − cos α_e) [mJ]."""
        least = self.moment_mJ * (1.0 - np.cos(self.balance_rad))
        return np.where(self.meeting_rad < self.balance_rad, math.inf, least)

    @property
    def reach_mm(self) -> Floats:
        """How far the top edge moves out up to the balance point, H sin α_e [mm]."""
        return np.asarray(self.height_mm * np.sin(self.balance_rad))


def shaking_of(stages: Sequence[Stage]) -> Shaking:
    """Return what the stages do to a can."""
    kicks = [stage.kicks for stage in stages]
    return Shaking(
        np.array([kick.energy_mJ for kick in kicks]),
        np.array([kick.rate_per_s for kick in kicks]),
        np.array([kick.step_mm for kick in kicks]),
        np.array([kick.drift_mm_per_s for kick in kicks]),
    )


def standing_of(
    stages: Sequence[Stage],
    stances: Sequence[Stance],
    balance_rad: Sequence[float] | None,
    support_N: Sequence[float] | None,
    factor: float,
) -> Standing:
    """Return how a can stands in the stages, load included where it is given."""
    k = len(stages)
    for key, given in (("balance_rad", balance_rad), ("support_N", support_N)):
        if given is not None and len(given) != k:
            raise InputError(key, f"{len(given)} values", f"one for each of the {k} stages")
    balance = [
        checked_balance_rad(stance, None if balance_rad is None else balance_rad[i])
        for i, stance in enumerate(stances)
    ]
    support = [
        stance.weight_N if support_N is None else max(0.0, support_N[i])
        for i, stance in enumerate(stances)
    ]
    meeting = [
        math.inf if stage.hold_down_mm is None else meeting_lean_rad(stance, stage.hold_down_mm)
        for stage, stance in zip(stages, stances, strict=True)
    ]
    return Standing(
        height_mm=stances[0].height_mm,
        moment_mJ=np.array([n * s.arm_mm for n, s in zip(support, stances, strict=True)]),
        balance_rad=np.array(balance),
        meeting_rad=np.array(meeting),
        wires_mm=tuple(stage.guides.wires.heights_mm for stage in stages),
        factor=factor,
    )
