"""What it costs to tip a can of a row: alone, and with the cans between it and the guide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer
from packsim.answers.tips import row_of
from packsim.line import Stage
from packsim.tipping.overturning import lean_energy_mJ, row_energies_mJ
from packsim.tipping.row_chance import gathered_energies_mJ


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
    left, right = row_energies_mJ(gaps, stance, heights, None, balance)
    return Energies(
        cans=cans,
        alone_mJ=float(lean_energy_mJ(balance, stance, None, balance)),
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
