"""The chance that a kick tips a can of a row, with the row's slack gathered or spread at random."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from packsim.can import Stance
from packsim.check import finite, positive
from packsim.errors import InputError
from packsim.setting.overturning import lean_energy_mJ, tip_chance
from packsim.setting.tipping import checked_balance_rad, overhang_mm

__all__ = ["RowLoad", "both_sides", "gathered_energies_mJ", "spread_tip_chances"]

_PANELS, _NODES = 96, 8
"""Panels and Gauss nodes of the integral over spread slack: eight digits on smooth chances."""


@dataclass(frozen=True, slots=True)
class RowLoad:
    """Everything about a row but its slack.

    Parameters
    ----------
    cans : int
        Number of cans n from guide to guide.
    stance : Stance
        The cans as they stand.
    wire_heights_mm : tuple of float
        Guide wire heights [mm].
    vertical_N : float or None
        Net push of a can on the mat; its weight if None [N].
    balance_rad : float or None
        Effective balance angle; the stance's own if None [rad].
    """

    cans: int
    stance: Stance
    wire_heights_mm: tuple[float, ...]
    vertical_N: float | None = None
    balance_rad: float | None = None

    def __post_init__(self) -> None:
        if self.cans < 1:
            raise InputError("cans", self.cans, "at least 1")
        checked_balance_rad(self.stance, self.balance_rad)

    @property
    def alpha_rad(self) -> float:
        """Effective balance angle [rad]."""
        return checked_balance_rad(self.stance, self.balance_rad)

    @property
    def reach_mm(self) -> float:
        """How far the top is out at the balance point, H sin α_e [mm]."""
        return self.stance.height_mm * math.sin(self.alpha_rad)

    def energy_mJ(self, out_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Energy to bring a can's top out by a distance, no more than to its balance [mJ]."""
        lean = np.arcsin(np.clip(out_mm / self.stance.height_mm, 0.0, 1.0))
        return lean_energy_mJ(lean, self.stance, self.vertical_N, self.alpha_rad)

    def needed_gap_mm(self, out_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Guide gap that lets the edge can's top out by a distance; 0 with no wire below H [mm]."""
        height = self.stance.height_mm
        lean = np.arcsin(np.clip(out_mm / height, 0.0, 1.0))
        gap = np.zeros(lean.shape)
        for z in self.wire_heights_mm:
            if z < height:
                np.maximum(gap, np.minimum(z * np.tan(lean), math.sqrt(height**2 - z**2)), out=gap)
        return gap


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
    since it counts amplified (`packsim.setting.overturning.chain_energy_mJ`).
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
    Uniform gaps are the spacings of n points thrown on [0, S]; density n! / Sⁿ of the ordered
    points. In a chain of j cans, can m leans by what the point c_{m−1} leaves of A = H sin α_e, so
    exp(−E_tip / E_k) = Π w(c_{m−1}), w(c) = exp(−U(A − c) / E_k), provided the guide gap is at
    least what is then needed, need(c_{j−1}). The product does not care for the order of the
    points below c = c_{j−1}, so they integrate to W(c)^{j−2} / (j−2)! with W the integral of w,
    and the n − j + 1 points beyond to (S − c − need(c))^{n−j+1} / (n−j+1)!. One integral remains,

    P_j = w(0) n! / (Sⁿ (j−2)! (n−j+1)!) ∫ W^{j−2} w (S − c − need)₊^{n−j+1} dc,  j >= 2,
    P_1 = w(0) (1 − need(0) / S)₊ⁿ.

    Derived here; done by Gauss panels, in logarithms.
    """
    slack = finite("slack_mm", slack_mm)
    positive("kick_mJ", kick_mJ)
    n, reach = row.cans, row.reach_mm
    if reach <= 0.0:
        return np.ones(n)
    chances = np.zeros(n)
    if slack <= 0.0:
        return chances
    start = float(tip_chance(row.energy_mJ(np.array(reach)), kick_mJ))
    alone = float(row.needed_gap_mm(np.array(reach)))
    chances[0] = start * max(0.0, 1.0 - alone / slack) ** n
    c, weight, w, w_sum = _weights(slack, row, kick_mJ)
    room = slack - c - row.needed_gap_mm(reach - c)
    open_ = room > 0.0
    if not open_.any():
        return chances
    log_w, log_sum, log_room = (np.log(a[open_]) for a in (w, w_sum, room))
    for j in range(2, n + 1):
        beyond = n - j + 1
        scale = math.lgamma(n + 1) - math.lgamma(j - 1) - math.lgamma(beyond + 1)
        logs = (j - 2) * log_sum + log_w + beyond * log_room + scale - n * math.log(slack)
        chances[j - 1] = start * float(np.sum(weight[open_] * np.exp(logs)))
    return chances


def _weights(
    slack: float, row: RowLoad, kick_mJ: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Nodes c, their weights, w(c) and W(c), with a panel edge at H sin α_e, where w has a kink."""
    nodes, weights = legendre.leggauss(_NODES)
    degrees = np.arange(_NODES)
    vander = legendre.legvander(nodes, _NODES)
    rising = vander[:, 1:] - np.column_stack((-np.ones(_NODES), vander[:, : _NODES - 1]))
    inner = (rising / (2.0 * degrees + 1.0)) @ np.linalg.inv(vander[:, :_NODES])
    edges = np.linspace(0.0, slack, _PANELS + 1)
    if row.reach_mm < slack:
        edges = np.unique(np.append(edges, row.reach_mm))
    half = np.diff(edges)[:, None] / 2.0
    c = edges[:-1, None] + half * (nodes + 1.0)
    w = tip_chance(row.energy_mJ(row.reach_mm - c), kick_mJ)
    panel = (half * w) @ weights
    w_sum = (np.cumsum(panel) - panel)[:, None] + half * (w @ inner.T)
    return c.ravel(), (half * weights).ravel(), w.ravel(), w_sum.ravel()


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
