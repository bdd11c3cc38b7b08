"""What each header does to the worst can, and what tipping one of a row costs."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.answers import (
    Answer,
    stage_sprays,
    towards_guides,
    worst_can,
)
from packsim.answers.tipping import towards
from packsim.line import Scenario, Stage
from packsim.spray.leaning import tipping_moment_N_mm
from packsim.spray.worst_moments import DIRECTIONS_RAD, worst_place
from packsim.tipping.overturning import gathered_energies_mJ, lean_energy_mJ, row_energies_mJ
from packsim.tipping.row_chance import rows_of, tipping_most


@dataclass(frozen=True, slots=True)
class HeaderMoment:
    """What one header adds.

    Parameters
    ----------
    side : {"above", "below"}
        Where it sprays from.
    station_mm : float
        Its place along the stage [mm].
    moment_N_mm : float
        Moment about the edge the can leans over, below 0 where it rights the can [N·mm].
    """

    side: str
    station_mm: float
    moment_N_mm: float


@dataclass(frozen=True, slots=True)
class SprayTerms:
    """Load on the can with the least balance angle towards a guide, leaning just so far.

    Parameters
    ----------
    lane : int
        Its line, counted from the left guide from 1.
    across_mm : float
        That line from the mat's left edge [mm].
    along_mm : float
        Where along the stage [mm].
    direction_rad : float
        Bearing of the lean, from travel towards the right guide [rad].
    headers : tuple of HeaderMoment
        Headers that reach it there; together they balance what the weight rights.
    weight_moment_N_mm : float
        Moment with which the weight rights the can at that lean [N·mm].
    lost_rad : float
        Balance angle of the same can without sprays, less the one left [rad].
    best_shift_mm : float or None
        Best shift of the pack for the worst lane, None without one [mm].
    hold_margin, hold_margin_shifted : float
        Least hold margin of any lane anywhere, as it rides and after that shift [-].
    balance_angle_shifted_rad : float
        Least balance angle towards a guide after that shift [rad].
    """

    lane: int
    across_mm: float
    along_mm: float
    direction_rad: float
    headers: tuple[HeaderMoment, ...]
    weight_moment_N_mm: float
    lost_rad: float
    best_shift_mm: float | None
    hold_margin: float
    hold_margin_shifted: float
    balance_angle_shifted_rad: float

    @property
    def towards(self) -> str:
        """The bearing in words."""
        return towards(self.direction_rad)


def spray_terms(scenario: Scenario, stage: Stage, answer: Answer) -> SprayTerms | None:
    """Take the spray load of an answer apart, header by header.

    Parameters
    ----------
    scenario, stage, answer : Scenario, Stage, Answer
        The case, for its mat; the stage, and its answers.

    Returns
    -------
    SprayTerms or None
        None where nothing sprays.
    """
    if answer.spray is None or answer.lightest is None:
        return None
    stance, balance = answer.stance, answer.worst.balance_rad
    lines, open_part = np.array(answer.lines_mm), scenario.mat.open_fraction
    towards_guide = DIRECTIONS_RAD[towards_guides(stage.layout)]
    lane, along, bearing = worst_place(lines, stance, answer.headers, open_part, towards_guide)
    place, lean = (along, lines[lane], bearing), np.array([balance])
    moments = [
        HeaderMoment(h.side, h.station_mm, float(moment))
        for h in answer.headers
        if (moment := tipping_moment_N_mm([h], stance, open_part, *place, lean)[0])
    ]
    shift = None if answer.alignment is None else answer.alignment.best.shift_for_worst_mm
    can, margin, left = scenario.size(answer.size), answer.lightest, balance
    if shift:
        moved = stage, can, open_part, lines + shift
        left = worst_can(*moved).balance_rad
        margin = stage_sprays(*moved, (answer.water.low,))[0] or margin
    own, arm = stance.balance_angle_rad, stance.weight_N * stance.arm_mm
    return SprayTerms(
        lane=lane + 1,
        across_mm=float(lines[lane]),
        along_mm=along,
        direction_rad=bearing,
        headers=tuple(moments),
        weight_moment_N_mm=arm * math.sin(own - balance),
        lost_rad=own - balance,
        best_shift_mm=shift,
        hold_margin=float(answer.lightest.hold_margin.min()),
        hold_margin_shifted=float(margin.hold_margin.min()),
        balance_angle_shifted_rad=left,
    )


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
    row_seen_per_million : float or None
        The same as a picture shows the slack: so many rows have it in one gap, the others at
        random; None where nobody looked [tips per million].
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
    row_seen_per_million: float | None


def row_energies(stage: Stage, answer: Answer) -> RowEnergies | None:
    """Work out the energies of a row; None where nothing stands or no wire holds.

    The net push of the sprays is left out: the weight alone holds. The domes are as full as tips
    most cans, of the energies in the loosest case.
    """
    heights, kicks = answer.wire_heights_mm, stage.kicks
    if not answer.pack.fits or not heights:
        return None
    rows = rows_of(answer.pack, answer.worst.loads, heights)
    exposures = kicks.rate_per_s * answer.dwell_s
    still = answer.tipping.blocked or kicks.energy_mJ == 0.0

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
    spread, in_one_gap = per_million(answer.slack_mm, "spread"), per_million(gathers, "gathered")
    seen = stage.slack_gathered
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
        row_random_per_million=spread,
        row_gathered_per_million=in_one_gap,
        row_seen_per_million=None if seen is None else spread + seen * (in_one_gap - spread),
    )
