"""A row of cans from guide to guide: what tipping one costs, and two bounds on its tips."""

from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer, sprayed_lines_mm, worst_can
from packsim.line import Scenario, Stage
from packsim.tipping.overturning import gathered_energies_mJ, lean_energy_mJ, row_energies_mJ
from packsim.tipping.row_chance import rows_of, tipping_most


@dataclass(frozen=True, slots=True)
class RowEnergies:
    """Overturning energies of a row, the kicks they stand against, and what follows by the row.

    Parameters
    ----------
    cans : int
        Cans of the row.
    alone_mJ : float
        A can that nothing leans on, U(α_e) [mJ].
    loosest_slack_mm : float
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
    row_random_per_million, row_gathered_per_million : float
        Tips of a row by itself, its slack as set shared out at random anew for each kick, and all
        of it always in the gap that is worst for the can; under the worst spray all the way. They
        bound such a row; a moving pack passes the worst spray only now and then [tips per million].
    """

    cans: int
    alone_mJ: float
    loosest_slack_mm: float
    edge_mJ: float
    second_mJ: float
    middle_mJ: float
    even_mJ: float
    kick_mJ: float
    kick_rate_per_s: float
    dwell_s: float
    kick_trial: str
    row_random_per_million: float
    row_gathered_per_million: float


def row_energies(scenario: Scenario, stage: Stage, answer: Answer) -> RowEnergies | None:
    """Work out the energies of a row; None where nothing stands or no wire holds.

    The net push of the sprays is left out: the weight alone holds. The domes are as full as tips
    most cans, of the energies in the loosest case.
    """
    heights, kicks = answer.wire_heights_mm, stage.kicks
    if not answer.pack.fits or not heights:
        return None
    can, lines = scenario.size(answer.size), sprayed_lines_mm(stage, answer.pack)
    rows = rows_of(
        answer.pack, worst_can(stage, can, scenario.mat.open_fraction, lines).loads, heights
    )
    exposures, mat = kicks.rate_per_s * answer.dwell_s, answer.hold_down
    still = (mat is not None and mat.blocks) or kicks.energy_mJ == 0.0

    def per_million(slack_mm: float, sharing: str) -> float:
        if still or slack_mm < 0.0:
            return 0.0
        _, logs = tipping_most(rows, slack_mm, exposures, kicks.energy_mJ, sharing)
        return 1e6 * float(np.exp(logs).mean())

    # where cans part along travel more slack gathers than the width leaves, enough to tip one
    most = answer.tipping.gathered
    gathers = max(answer.slack_mm, most.slack_mm if most.index >= 1.0 else 0.0)
    slack, row = max(0.0, answer.tipping.loosest_slack_mm), rows[0]
    if not still:
        row, _ = tipping_most(rows, slack, exposures, kicks.energy_mJ, "spread")
    cans, stance, balance = row.cans, row.stance, row.alpha_rad
    gathered = gathered_energies_mJ(slack, row)
    evenly = np.full(cans + 1, slack / (cans + 1))
    even = min(side.min() for side in row_energies_mJ(evenly, stance, heights, balance))
    return RowEnergies(
        cans=cans,
        alone_mJ=float(lean_energy_mJ(balance, stance, balance)),
        loosest_slack_mm=slack,
        edge_mJ=float(gathered[0]),
        second_mJ=float(gathered[min(1, cans - 1)]),
        middle_mJ=float(gathered[cans // 2]),
        even_mJ=float(even),
        kick_mJ=kicks.energy_mJ,
        kick_rate_per_s=kicks.rate_per_s,
        dwell_s=answer.dwell_s,
        kick_trial=kicks.trial,
        row_random_per_million=per_million(answer.slack_mm, "spread"),
        row_gathered_per_million=per_million(gathers, "gathered"),
    )
