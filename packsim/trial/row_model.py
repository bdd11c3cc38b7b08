"""Chance of a tip against kick energy for one row, in logarithms and for many energies at once.

The slack of a row is either spread at random over its gaps, every way to share it being equally
likely (a broken stick), or gathered on one side. Both are exact: averaging over sampled rows would
see next to nothing of the rare ones that matter, and would make the likelihood rough.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from packsim.check import one_of
from packsim.setting.row_chance import RowLoad, gathered_energies_mJ

__all__ = ["SHARINGS", "log_kick_chances", "log_stage_chances"]

Floats = NDArray[np.float64]

SHARINGS: Final = ("spread", "gathered")
"""How a row's slack lies when the kick comes: shared out at random, or all in the worst place."""

_PANELS, _NODES = 24, 8
"""Panels and Gauss nodes; six digits where no kick energy is below a hundredth of U(α_e)."""


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
    ``spread`` is the integral of `packsim.setting.row_chance.spread_tip_chances`, here for all
    energies together; ``gathered`` is exp(−E/E_k) with the energies of `gathered_energies_mJ`.
    """
    one_of("sharing", sharing, SHARINGS)
    if row.reach_mm <= 0.0:
        return np.zeros((len(kicks_mJ), row.cans))
    if slack_mm <= 0.0:
        return np.full((len(kicks_mJ), row.cans), -np.inf)
    if sharing == "gathered":
        return -gathered_energies_mJ(slack_mm, row)[None, :] / kicks_mJ[:, None]
    return _spread(slack_mm, row, kicks_mJ)


def log_stage_chances(
    slack_mm: float, row: RowLoad, exposures: float, kicks_mJ: Floats, sharing: str = "spread"
) -> Floats:
    """Logarithm of the chance that each can of a row is tipped in a stage.

    Parameters
    ----------
    slack_mm, row, kicks_mJ, sharing
        As for `log_kick_chances`.
    exposures : float
        Kicks a can gets on its way, rate × dwell [-].

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


def _spread(slack: float, row: RowLoad, kicks: Floats) -> Floats:
    """P_1 = w(0) (1 − need(0)/S)₊ⁿ and the integral for the places behind."""
    n, reach = row.cans, row.reach_mm
    start = -float(row.energy_mJ(np.array(reach))) / kicks
    logs = np.full((len(kicks), n), -np.inf)
    first = 1.0 - float(_needed_gap_mm(np.array([reach]), row)[0]) / slack
    if first > 0.0:
        logs[:, 0] = start + n * math.log(first)
    edges = _panel_edges(slack, row)
    c, weight, half = _nodes(edges)
    room = slack - c - _needed_gap_mm(reach - c, row)
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


def _needed_gap_mm(out_mm: Floats, row: RowLoad) -> Floats:
    """Guide gap that lets the edge can's top out by a distance, `edge_slack_mm` for many [mm]."""
    height = row.stance.height_mm
    tangent = np.tan(np.arcsin(np.clip(out_mm / height, 0.0, 1.0 - 1e-12)))
    best = np.zeros_like(tangent)
    for z in row.wire_heights_mm:
        if z < height:
            np.maximum(best, np.minimum(z * tangent, math.sqrt(height**2 - z**2)), out=best)
    return best


def _panel_edges(slack: float, row: RowLoad) -> Floats:
    """Panel ends from 0 to S, with one at H sin α_e and one wherever the room beyond vanishes."""
    grid = np.linspace(0.0, slack, 401)
    inside = slack - grid - _needed_gap_mm(row.reach_mm - grid, row)
    cuts = []
    for i in np.flatnonzero((inside[:-1] > 0.0) != (inside[1:] > 0.0)):
        low, high = grid[i], grid[i + 1]
        opening = inside[i] <= 0.0
        for _ in range(50):
            middle = (low + high) / 2.0
            room = slack - middle - _needed_gap_mm(np.array([row.reach_mm - middle]), row)[0]
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
