"""Chance of a tip where the slack of a row lies shared out at random, exact, many kicks at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.polynomial import legendre

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.check import finite
from packsim.errors import InputError
from packsim.tipping.overturning import lean_energy_mJ
from packsim.tipping.safe_slack import checked_balance_rad
from packsim.tipping.wire_lean import wire_limit_mm


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

    def energy_mJ(self, out_mm: Floats) -> Floats:
        """Energy to bring a can's top out by a distance, no more than to its balance [mJ]."""
        lean = np.arcsin(np.clip(out_mm / self.stance.height_mm, 0.0, 1.0))
        return lean_energy_mJ(lean, self.stance, self.vertical_N, self.alpha_rad)

    def needed_gap_mm(self, out_mm: Floats) -> Floats:
        """Guide gap that lets the edge can's top out by a distance; 0 with no wire below H [mm]."""
        height = self.stance.height_mm
        lean = np.arcsin(np.clip(out_mm / height, 0.0, 1.0))
        gap = np.zeros(lean.shape)
        for z in self.wire_heights_mm:
            np.maximum(gap, wire_limit_mm(height, lean, z), out=gap)
        return gap


_PANELS: Final = 24
_NODES: Final = 8
"""Panels and Gauss nodes; six digits where no kick energy is below a hundredth of U(α_e)."""


def log_spread_chances(slack_mm: float, row: RowLoad, kicks_mJ: Floats) -> Floats:
    """Logarithm of the chance that a kick tips a can, the row's slack spread at random.

    Parameters
    ----------
    slack_mm : float
        Slack S of the row, shared by its n + 1 gaps uniformly over all ways to share it [mm].
    row : RowLoad
        The row.
    kicks_mJ : ndarray, shape (m,)
        Mean kick energies E_k, above 0 [mJ].

    Returns
    -------
    ndarray, shape (m, n)
        ln of the expected exp(−E_tip / E_k), for each energy, by place counted from the guide the
        kick points to, the edge can first; −inf where no way to share the slack lets the can go.

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

    Derived here; done by Gauss panels, with an end wherever the integrand has
    a kink, in logarithms.
    """
    slack = finite("slack_mm", slack_mm)
    kicks = np.asarray(kicks_mJ, dtype=np.float64)
    if not np.all(kicks > 0.0):
        raise InputError("kicks_mJ", kicks.min(initial=0.0), "energies above 0")
    if row.reach_mm <= 0.0:
        return np.zeros((len(kicks), row.cans))
    if slack <= 0.0:
        return np.full((len(kicks), row.cans), -np.inf)
    return _spread(slack, row, kicks)


def _spread(slack: float, row: RowLoad, kicks: Floats) -> Floats:
    """P_1 = w(0) (1 − need(0)/S)₊ⁿ and the integral for the places behind."""
    n, reach = row.cans, row.reach_mm
    start = -float(row.energy_mJ(np.array(reach))) / kicks
    logs = np.full((len(kicks), n), -np.inf)
    first = 1.0 - float(row.needed_gap_mm(np.array(reach))) / slack
    if first > 0.0:
        logs[:, 0] = start + n * math.log(first)
    edges = _panel_edges(slack, row)
    c, weight, half = _nodes(edges)
    room = slack - c - row.needed_gap_mm(reach - c)
    open_ = room > 0.0
    if n == 1 or not open_.any():
        return logs
    log_w = -row.energy_mJ(reach - c)[None, :] / kicks[:, None]
    with np.errstate(divide="ignore"):
        log_sum = np.log(_running_integral(np.exp(log_w), half))[:, open_]
    log_base = (log_w[:, open_] + np.log(weight[open_])) + start[:, None]
    log_room = np.log(room[open_])
    for j in range(2, n + 1):
        beyond = n - j + 1
        scale = math.lgamma(n + 1) - math.lgamma(j - 1) - math.lgamma(beyond + 1)
        # 0 · −inf: no can between to share the slack, so its integral counts as 1
        between = (j - 2) * log_sum if j > 2 else 0.0
        terms = log_base + between + beyond * log_room + (scale - n * math.log(slack))
        logs[:, j - 1] = np.logaddexp.reduce(terms, axis=1)
    return logs


def _panel_edges(slack: float, row: RowLoad) -> Floats:
    """Panel ends from 0 to S, with one at H sin α_e and one wherever the room beyond vanishes."""
    grid = np.linspace(0.0, slack, 401)
    inside = slack - grid - row.needed_gap_mm(row.reach_mm - grid)
    cuts = []
    for i in np.flatnonzero((inside[:-1] > 0.0) != (inside[1:] > 0.0)):
        low, high = grid[i], grid[i + 1]
        opening = inside[i] <= 0.0
        for _ in range(50):
            middle = (low + high) / 2.0
            room = slack - middle - float(row.needed_gap_mm(np.array(row.reach_mm - middle)))
            low, high = (middle, high) if (room <= 0.0) == opening else (low, middle)
        cuts.append((low + high) / 2.0)
    if row.reach_mm < slack:
        cuts.append(row.reach_mm)
    ends = [0.0, *sorted(cuts), slack]
    parts = [np.linspace(a, b, _PANELS // 2 + 1) for a, b in pairwise(ends)]
    edges: Floats = np.unique(np.concatenate(parts))
    return edges


def _nodes(edges: Floats) -> tuple[Floats, Floats, Floats]:
    points, weights = legendre.leggauss(_NODES)
    half = np.diff(edges) / 2.0
    nodes = edges[:-1, None] + half[:, None] * (points + 1.0)
    return nodes.ravel(), (half[:, None] * weights).ravel(), half


def _running_integral(values: Floats, half: Floats) -> Floats:
    """Integral from 0 to every node, given values at the nodes, shape (m, panels · nodes)."""
    points, weights = legendre.leggauss(_NODES)
    vander = legendre.legvander(points, _NODES)
    before = np.column_stack((-np.ones(_NODES), vander[:, : _NODES - 1]))
    inner = ((vander[:, 1:] - before) / (2.0 * np.arange(_NODES) + 1.0)) @ np.linalg.inv(
        vander[:, :_NODES]
    )
    panels = values.reshape(len(values), len(half), _NODES) * half[None, :, None]
    whole = panels @ weights
    running = (np.cumsum(whole, axis=1) - whole)[:, :, None] + panels @ inner.T
    result: Floats = np.maximum(running.reshape(values.shape), 0.0)
    return result
