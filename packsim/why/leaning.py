"""How far each can of the pack can lean, what one does that leans too far, what tipping costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer, gathered_leans, own_leans
from packsim.answers.tips import row_of
from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Stage
from packsim.tipping.gathered_slack import GatheredLean
from packsim.tipping.lean import LeanEnvelope
from packsim.tipping.overturning import gathered_energies_mJ, lean_energy_mJ, row_energies_mJ
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


@dataclass(frozen=True, slots=True)
class Energies:
    """Overturning energies of a row, and the kicks they stand against.

    Parameters
    ----------
    cans : int
        Cans of the row.
    alone_mJ : float
        A can that nothing leans on, U(α_e) [mJ].
    slack_mm : float
        Slack of the row in the loosest case [mm].
    edge_mJ, second_mJ, middle_mJ : float
        The edge can, the one behind it, one in the middle, all slack gathered in the worst gap;
        infinite where the chain is spent before the can balances [mJ].
    even_mJ : float
        The easiest can of the row, its slack shared evenly over all gaps [mJ].
    kick_mJ, kick_rate_per_s, dwell_s : float
        Mean kick, kicks per second on a can, time in the stage [mJ], [1/s], [s].
    kick_trial : str
        Trial the kicks come from; empty while they are assumed.
    """

    cans: int
    alone_mJ: float
    slack_mm: float
    edge_mJ: float
    second_mJ: float
    middle_mJ: float
    even_mJ: float
    kick_mJ: float
    kick_rate_per_s: float
    dwell_s: float
    kick_trial: str


def energies(stage: Stage, answer: Answer) -> Energies | None:
    """Work out the energies of a answer; None where nothing stands or no wire holds.

    The net push of the sprays is left out, as in the row model: the weight alone holds.
    """
    stance, heights = answer.stance, answer.wire_heights_mm
    balance = answer.tipping.balance_angle_rad
    row = row_of(answer.pack, stance, balance, heights)
    if row is None or not heights:
        return None
    cans, slack = row.cans, max(0.0, answer.tipping.loosest_slack_mm)
    gathered = gathered_energies_mJ(slack, row)
    gaps = np.full(cans + 1, slack / (cans + 1))
    left, right = row_energies_mJ(gaps, stance, heights, balance)
    return Energies(
        cans=cans,
        alone_mJ=float(lean_energy_mJ(balance, stance, balance)),
        slack_mm=slack,
        edge_mJ=float(gathered[0]),
        second_mJ=float(gathered[min(1, cans - 1)]),
        middle_mJ=float(gathered[cans // 2]),
        even_mJ=float(min(left.min(), right.min())),
        kick_mJ=stage.kicks.energy_mJ,
        kick_rate_per_s=stage.kicks.rate_per_s,
        dwell_s=answer.dwell_s,
        kick_trial=stage.kicks.trial,
    )
