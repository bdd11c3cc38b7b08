"""The chance that a kick tips a can of a row, with the row's slack gathered or spread at random."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from packsim.check import finite, positive
from packsim.tipping.row_load import RowLoad
from packsim.tipping.spread_slack import log_spread_chances
from packsim.tipping.wire_lean import overhang_mm


def gathered_energies_mJ(slack_mm: float, row: RowLoad) -> NDArray[np.float64]:
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


def spread_tip_chances(slack_mm: float, row: RowLoad, kick_mJ: float) -> NDArray[np.float64]:
    """Chance that a kick towards a guide tips a can, the row's slack spread at random [-].

    Parameters
    ----------
    slack_mm : float
        Slack S of the row, shared by its n + 1 gaps uniformly over all ways to share it [mm].
    row : RowLoad
        The row.
    kick_mJ : float
        Mean kick energy E_k [mJ].

    Returns
    -------
    ndarray, shape (n,)
        Expected exp(−E_tip / E_k) by place counted from that guide, the edge can first [-].

    Notes
    -----
    See `packsim.tipping.spread_slack.log_spread_chances`, which does many energies at once.
    """
    positive("kick_mJ", kick_mJ)
    chances: NDArray[np.float64] = np.exp(log_spread_chances(slack_mm, row, np.array([kick_mJ]))[0])
    return chances


def both_sides(by_place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of a chance over kicks to the left and to the right, by can from the left guide [-].

    Parameters
    ----------
    by_place : ndarray, shape (..., n)
        Chance by place counted from the guide the kick points to.

    Returns
    -------
    ndarray, shape (..., n)
        Mean for each can of the row; kicks point either way equally often.

    Examples
    --------
    >>> both_sides(np.array([0.4, 0.2, 0.0])).tolist()
    [0.2, 0.2, 0.2]
    """
    mean: NDArray[np.float64] = (by_place + by_place[..., ::-1]) / 2.0
    return mean
