"""How often cans tip in a stage, by the row model: slack spread over gaps, or gathered in one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from packsim.can import Stance
from packsim.line import Stage
from packsim.pack.state import Pack
from packsim.tipping.overturning import stage_tip_chance, tip_chance
from packsim.tipping.row_chance import both_sides, gathered_energies_mJ, spread_tip_chances
from packsim.tipping.row_load import RowLoad


@dataclass(frozen=True, slots=True, eq=False)
class Chance:
    """Tips to be expected in one stage.

    Parameters
    ----------
    slack_mm : float
        Slack of a row it was worked out for [mm].
    by_can : ndarray, shape (n,)
        Chance that a can is tipped in the stage, by its place from the left guide [-].
    per_million : float
        Mean over the row [cans in a million].
    """

    slack_mm: float
    by_can: NDArray[np.float64]
    per_million: float


def row_cans(pack: Pack) -> int:
    """Cans in a row from guide to guide: the lanes of a lengthwise pack, half that crosswise."""
    if pack.layout == "crosswise":
        return (pack.lanes + 1) // 2
    return pack.lanes


def row_chance(
    stage: Stage,
    pack: Pack,
    stance: Stance,
    slack_mm: float,
    balance_rad: float,
    heights_mm: tuple[float, ...],
    dwell_s: float,
    *,
    gathered: bool = False,
) -> Chance:
    """Chance of a tip in a stage, a row's slack shared out at random or gathered in one gap.

    Parameters
    ----------
    stage : Stage
        For its kicks; their energy and rate are assumed until a trial calibrates them.
    pack : Pack
        For the cans of a row.
    stance : Stance
        The can in this stage.
    slack_mm : float
        Slack of a row; none below 0 [mm].
    balance_rad : float
        Effective balance angle [rad].
    heights_mm : tuple of float
        Guide wire heights [mm].
    dwell_s : float
        Time in the stage [s].
    gathered : bool
        False: all ways to share the slack are equally likely, anew for each kick. True: all of it
        lies in the gap that is worst for the can, an upper bound no pack can reach for every can.

    Returns
    -------
    Chance
        By can and per million. Half the kicks point to each guide. No kick, no cans or no slack,
        no tips; a hold-down mat is not counted on.
    """
    n = row_cans(pack)
    if n == 0 or slack_mm <= 0.0 or stage.kicks.energy_mJ == 0.0 or not heights_mm:
        return Chance(slack_mm, np.zeros(n), 0.0)
    row = RowLoad(n, stance, heights_mm, None, balance_rad)
    kick = stage.kicks.energy_mJ
    if gathered:
        one_way = tip_chance(gathered_energies_mJ(slack_mm, row), kick)
    else:
        one_way = spread_tip_chances(slack_mm, row, kick)
    each = both_sides(one_way)
    by_can = stage_tip_chance(np.clip(each, 0.0, 1.0), stage.kicks.rate_per_s, dwell_s)
    return Chance(slack_mm, by_can, 1e6 * float(by_can.mean()))
