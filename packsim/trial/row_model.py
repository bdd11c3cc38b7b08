"""Chance of a tip against kick energy for one row, in logarithms and for many energies at once.

The slack of a row is either spread at random over its gaps, every way to share it being equally
likely (a broken stick), or gathered on one side. Both are exact: averaging over sampled rows would
see next to nothing of the rare ones that matter, and would make the likelihood rough.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from packsim.check import one_of
from packsim.tipping.row_chance import gathered_energies_mJ
from packsim.tipping.row_load import RowLoad
from packsim.tipping.spread_slack import log_spread_chances

Floats = NDArray[np.float64]

SHARINGS: Final = ("spread", "gathered")
"""How a row's slack lies when the kick comes: shared out at random, or all in the worst place."""


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
    ``spread`` is `packsim.tipping.spread_slack.log_spread_chances`; ``gathered`` is exp(−E/E_k)
    with the energies of `packsim.tipping.row_chance.gathered_energies_mJ`.
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
        ln(1 − exp(−exposures × chance)) by can from the left guide; half the kicks point to each
        side. The row is shaken up between kicks, so each kick sees a fresh share of the slack.
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
