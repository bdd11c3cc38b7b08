"""How far each can of the pack as laid can lean, and what one does that leans too far."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.answers import Answer, gathered_leans, own_leans
from packsim.arrays import Floats
from packsim.can import Stance
from packsim.tipping.gathered_slack import GatheredLean
from packsim.tipping.lean import LeanEnvelope
from packsim.tipping.rocking import (
    can_rocker,
    onset_acceleration_mm_per_s2,
    overturning_impulse_N_s,
    overturning_speed_mm_per_s,
    quarter_period_s,
    restitution,
)

HALF = 0.5
"""Share of the balance angle a can is let go at for its rocking period: a lean one can see."""


@dataclass(frozen=True, slots=True, eq=False)
class CanLeans:
    """Leans of every can of the pack as laid.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Can centres, along travel and from the left guide [mm].
    own : LeanEnvelope
        Neighbours standing still.
    gathered : GatheredLean
        All slack of a can's chain gathered beside it.
    """

    centres_mm: Floats
    own: LeanEnvelope
    gathered: GatheredLean


@dataclass(frozen=True, slots=True)
class Rocking:
    """How a free can rocks on its rim, dome as full as in the stage, no spray.

    Parameters
    ----------
    start_rad : float
        Lean it is let go at, half of the balance angle [rad].
    period_s : float
        Time of a whole first swing, four quarters, landings without loss [s].
    kept : float
        Share of its turning speed it keeps at a landing, at most [-].
    impulse_N_s : float
        Least level kick at its top that topples it [N s].
    speed_mm_per_s : float
        Least sudden change of mat speed that topples it [mm/s].
    onset_m_per_s2 : float
        Steady acceleration of the mat at which it begins to tip [m/s²].
    """

    start_rad: float
    period_s: float
    kept: float
    impulse_N_s: float
    speed_mm_per_s: float
    onset_m_per_s2: float


def can_leans(answer: Answer) -> CanLeans | None:
    """Return the leans of every can of a answer's pack; None where nothing fits."""
    if not answer.pack.fits:
        return None
    load = (answer.pack, answer.stance, answer.tipping.balance_angle_rad, answer.wire_heights_mm)
    return CanLeans(answer.pack.centres_mm, own_leans(*load), gathered_leans(*load))


def rocking(stance: Stance) -> Rocking:
    """Return how a can by itself rocks."""
    body = can_rocker(stance)
    start = HALF * stance.balance_angle_rad
    quarter = quarter_period_s(body, start)
    return Rocking(
        start_rad=start,
        period_s=4.0 * quarter,
        kept=max(0.0, restitution(body)),
        impulse_N_s=overturning_impulse_N_s(body, stance.height_mm),
        speed_mm_per_s=overturning_speed_mm_per_s(body),
        onset_m_per_s2=onset_acceleration_mm_per_s2(body) / 1e3,
    )
