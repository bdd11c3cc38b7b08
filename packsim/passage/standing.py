"""What each stage does to a can, and what it takes to tip it there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.can import Stance
from packsim.errors import InputError
from packsim.line import Stage
from packsim.spray.in_place import LineLoad, unsprayed
from packsim.tipping.hold_down import meeting_lean_rad
from packsim.tipping.safe_slack import checked_balance_rad


@dataclass(frozen=True, slots=True, eq=False)
class Shaking:
    """What each of the k stages does to a can, arrays of shape (k,).

    Parameters
    ----------
    energy_mJ : ndarray
        Mean energy of a kick [mJ].
    under_per_s, between_per_s : ndarray
        Kicks a can gets each second under a header, and between them [1/s].
    step_mm : ndarray
        Root-mean-square step per kick and axis [mm].
    drift_mm_per_s : ndarray
        Steady drift to the right [mm/s].
    headers_mm : ndarray, shape (2 h,)
        Where along the line a can comes under a header and leaves it, in turns [mm].
    """

    energy_mJ: Floats
    under_per_s: Floats
    between_per_s: Floats
    step_mm: Floats
    drift_mm_per_s: Floats
    headers_mm: Floats

    def rate_per_s(self, stage: Ints, x_mm: Floats) -> Floats:
        """Return the kicks each can gets each second where it is.

        Parameters
        ----------
        stage : ndarray of int64, shape (n,)
            Stage of each can, −1 outside, where there are no kicks.
        x_mm : ndarray, shape (n,)
            Its place along the line [mm].

        Returns
        -------
        ndarray, shape (n,)
            Rates [1/s].
        """
        between = np.append(self.between_per_s, 0.0).take(stage)  # −1 takes the last
        if np.array_equal(self.under_per_s, self.between_per_s):
            return between
        under = np.append(self.under_per_s, 0.0).take(stage)
        inside = np.searchsorted(self.headers_mm, x_mm, side="right") % 2 == 1
        return np.where(inside, under, between)


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """How a can stands in each of the k stages.

    Parameters
    ----------
    height_mm : float
        Can height [mm].
    load : LineLoad
        Balance angle and energy to it, by place and direction.
    least_energy_mJ : ndarray, shape (k,)
        Energy below which no kick tips a can, wherever it stands; infinite where the hold-down
        keeps every can from its balance point [mJ].
    meeting_rad : ndarray, shape (k,)
        Lean at which a can meets the hold-down, infinite where there is none [rad].
    wires_mm : tuple of tuple of float
        Guide wire heights of each stage [mm].
    factor : float
        Safety factor that parts loose from leaning cans [-].
    """

    height_mm: float
    load: LineLoad
    least_energy_mJ: Floats
    meeting_rad: Floats
    wires_mm: tuple[tuple[float, ...], ...]
    factor: float


def shaking_of(stages: Sequence[Stage]) -> Shaking:
    """Return what the stages do to a can."""
    kicks = [stage.kicks for stage in stages]
    rate = np.array([kick.rate_per_s for kick in kicks])
    return Shaking(
        np.array([kick.energy_mJ for kick in kicks]),
        rate,
        rate,
        np.array([kick.step_mm for kick in kicks]),
        np.array([kick.drift_mm_per_s for kick in kicks]),
        np.zeros(0),
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
    angles = [
        checked_balance_rad(stance, None if balance_rad is None else balance_rad[i])
        for i, stance in enumerate(stances)
    ]
    support = [
        stance.weight_N if support_N is None else max(0.0, support_N[i])
        for i, stance in enumerate(stances)
    ]
    arms = np.array([n * s.arm_mm for n, s in zip(support, stances, strict=True)])
    balance = np.array(angles)
    energy = arms * (1.0 - np.cos(balance))
    meets = [
        math.inf if stage.hold_down_mm is None else meeting_lean_rad(stance, stage.hold_down_mm)
        for stage, stance in zip(stages, stances, strict=True)
    ]
    meeting = np.array(meets)
    ends = np.cumsum([stage.length_mm for stage in stages])[:-1]
    return Standing(
        height_mm=stances[0].height_mm,
        load=unsprayed(ends, balance, energy),
        least_energy_mJ=np.where(meeting < balance, math.inf, energy),
        meeting_rad=meeting,
        wires_mm=tuple(stage.guides.wires.heights_mm for stage in stages),
        factor=factor,
    )
