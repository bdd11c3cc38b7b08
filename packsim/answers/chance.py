"""How often cans tip in a stage, by the row model: slack spread over gaps, or gathered in one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Stage
from packsim.pack.state import Pack
from packsim.tipping.row_chance import log_stage_chances
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
    by_can: Floats
    per_million: float


def row_cans(pack: Pack) -> int:
    """Cans in a row from guide to guide: the lanes of a lengthwise pack, half that crosswise."""
    if pack.layout == "crosswise":
        return (pack.lanes + 1) // 2
    return pack.lanes


def row_chance(
    stage: Stage, row: RowLoad | None, slack_mm: float, dwell_s: float, sharing: str = "spread"
) -> Chance:
    """Chance of a tip in a stage, a row's slack shared out at random or gathered in one gap.

    Parameters
    ----------
    stage : Stage
        For its kicks; their energy and rate are assumed until a trial calibrates them.
    row : RowLoad or None
        The row; None without cans.
    slack_mm : float
        Slack of the row [mm].
    dwell_s : float
        Time in the stage [s].
    sharing : {"spread", "gathered"}
        All ways to share the slack are equally likely, anew for each kick; or all of it lies in the
        gap that is worst for the can, an upper bound no pack can reach for every can.

    Returns
    -------
    Chance
        By can and per million. No kick, no cans, no wires or no slack, no tips; a hold-down mat is
        not counted on.
    """
    kicks = stage.kicks
    if row is None or not row.wire_heights_mm or slack_mm <= 0.0 or kicks.energy_mJ == 0.0:
        return Chance(slack_mm, np.zeros(0 if row is None else row.cans), 0.0)
    exposures, energy = kicks.rate_per_s * dwell_s, np.array([kicks.energy_mJ])
    by_can = np.exp(log_stage_chances(slack_mm, row, exposures, energy, sharing)[0])
    return Chance(slack_mm, by_can, 1e6 * float(by_can.mean()))


def row_of(
    pack: Pack, stance: Stance, balance_rad: float, heights_mm: tuple[float, ...]
) -> RowLoad | None:
    """Return a row of a pack under its load; None without cans."""
    cans = row_cans(pack)
    return RowLoad(cans, stance, heights_mm, None, balance_rad) if cans else None
