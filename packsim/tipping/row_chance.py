"""The chance that a kick tips a can of a row, with the row's slack gathered or spread at random.

In logarithms, for many kick energies at once. Both are exact: averaging over sampled rows would see
next to nothing of the rare ones that matter, and would make a likelihood rough.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.check import finite, one_of
from packsim.tipping.spread_slack import RowLoad, log_spread_chances
from packsim.tipping.wire_lean import overhang_mm

SHARINGS: Final = ("spread", "gathered")
"""How a row's slack lies when the kick comes: shared out at random, or all in the worst place."""


def gathered_energies_mJ(slack_mm: float, row: RowLoad) -> Floats:
    """Energy to tip the cans of a row towards a guide, all slack in the worst single gap [mJ].

    Parameters
    ----------
    slack_mm : float
        Slack of the row [mm].
    row : RowLoad
        The row.

    Returns
    -------
    ndarray, shape (n,)
        By place counted from that guide, the edge can first [mJ]; infinite where no gap is enough.

    Notes
    -----
    Just ahead of a can the slack lets it go alone, for U(α_e), if S >= H sin α_e. At the guide it
    must take every can between along, the k-th for k U(α_e), but there a smaller slack will do,
    since it counts amplified (`packsim.tipping.overturning.chain_energy_mJ`).
    """
    slack = finite("slack_mm", slack_mm)
    alone = float(row.energy_mJ(np.array(row.reach_mm)))
    energy = np.full(row.cans, np.inf)
    overhang = overhang_mm(slack, row.wire_heights_mm, row.stance.height_mm)
    if float(overhang) >= row.reach_mm:
        energy = alone * np.arange(1.0, row.cans + 1.0)
    if slack >= row.reach_mm:
        energy[1:] = alone
    return energy


def log_kick_chances(
    slack_mm: float, row: RowLoad, kicks_mJ: Floats, sharing: str = "spread"
) -> Floats:
    """Logarithm of the chance that one kick towards a guide tips a can, for each kick energy.

    Parameters
    ----------
    slack_mm : float
        Slack of the row [mm].
    row : RowLoad
        The row.
    kicks_mJ : ndarray, shape (m,)
        Mean kick energies E_k, above 0 [mJ].
    sharing : {"spread", "gathered"}
        How the slack lies.

    Returns
    -------
    ndarray, shape (m, n)
        By place counted from that guide; −inf where the model rules a tip out.

    Notes
    -----
    Kick energies are taken to be exponentially distributed, the distribution that assumes nothing
    but its mean, so a kick exceeds E with the chance exp(−E/E_k). ``spread``:
    `packsim.tipping.spread_slack.log_spread_chances`; ``gathered``: `gathered_energies_mJ`.
    """
    one_of("sharing", sharing, SHARINGS)
    if row.reach_mm <= 0.0:
        return np.zeros((len(kicks_mJ), row.cans))
    if slack_mm <= 0.0:
        return np.full((len(kicks_mJ), row.cans), -np.inf)
    if sharing == "gathered":
        return -gathered_energies_mJ(slack_mm, row)[None, :] / kicks_mJ[:, None]
    return log_spread_chances(slack_mm, row, kicks_mJ)


def log_stage_chances(
    slack_mm: float, row: RowLoad, exposures: float, kicks_mJ: Floats, sharing: str = "spread"
) -> Floats:
    """Logarithm of the chance that each can of a row is tipped in a stage.

    Parameters
    ----------
    slack_mm, row
        As for `log_kick_chances`.
    exposures : float
        Kicks a can gets on its way, rate × dwell [-].
    kicks_mJ, sharing
        As for `log_kick_chances`.

    Returns
    -------
    ndarray, shape (m, n)
        ln(1 − exp(−exposures × chance)) by can from the left guide: kicks come as a Poisson
        process, half of them to each side, and a can tips once. The row is shaken up between kicks,
        so each kick sees a fresh share of the slack.
    """
    if exposures <= 0.0:
        return np.full((len(kicks_mJ), row.cans), -np.inf)
    log_one = log_kick_chances(slack_mm, row, kicks_mJ, sharing)
    log_mean = np.logaddexp(log_one, log_one[:, ::-1]) - math.log(2.0) + math.log(exposures)
    mean = np.exp(np.minimum(log_mean, 700.0))
    # 1 − e^−m is m to the last digit below 1e-12, and its logarithm must not underflow
    small = mean < 1e-12
    exact = np.log(-np.expm1(-np.where(small, 1.0, mean)))
    result: Floats = np.where(small, log_mean, exact)
    return result
