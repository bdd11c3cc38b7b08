"""The chance that a kick tips a can of a row, with the row's slack gathered or spread at random.

In logarithms, for many kick energies at once. Both are exact: averaging over sampled rows would see
next to nothing of the rare ones that matter, and would make a likelihood rough.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.polynomial import legendre

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError, finite, one_of
from packsim.pack.state import Pack
from packsim.tipping.overturning import RowLoad, gathered_energies_mJ

SHARINGS: Final = ("spread", "gathered")
"""How a row's slack lies when the kick comes: shared out at random, or all in the worst place."""

_LEAST_SLACK_MM: Final = 1e-6
"""Without a wire an edge can needs no slack to fall; a share of no slack cannot be worked out."""

_PANELS: Final = 24
_NODES: Final = 8
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
    Kick energies are taken to be exponentially distributed, the distribution that assumes nothing
    but its mean, so a kick exceeds E with the chance exp(−E/E_k). ``spread``: `_log_spread`;
    ``gathered``: `packsim.tipping.overturning.gathered_energies_mJ`.
    """
    one_of("sharing", sharing, SHARINGS)
    if not np.all(kicks_mJ > 0.0):
        raise InputError("kicks_mJ", kicks_mJ.min(), "energies above 0")
    if row.reach_mm <= 0.0:
        return np.zeros((len(kicks_mJ), row.cans))
    if row.held_by(finite("slack_mm", slack_mm)):
        return np.full((len(kicks_mJ), row.cans), -np.inf)
    slack_mm = max(slack_mm, _LEAST_SLACK_MM)
    if sharing == "gathered":
        return -gathered_energies_mJ(slack_mm, row)[None, :] / kicks_mJ[:, None]
    return _log_spread(slack_mm, row, kicks_mJ)


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


def _log_spread(slack: float, row: RowLoad, kicks: Floats) -> Floats:
    """Logarithm of the chance that a kick tips a can, the slack spread at random; slack above 0.

    Uniform gaps are the spacings of n points thrown on [0, S]; density n! / Sⁿ of the ordered
    points. In a chain of j cans, can m leans by what the point c_{m−1} leaves of A = H sin α_e, so
    exp(−E_tip / E_k) = Π w(c_{m−1}), w(c) = exp(−U(A − c) / E_k), provided the guide gap is at
    least what is then needed, need(c_{j−1}). The product does not care for the order of the
    points below c = c_{j−1}, so they integrate to W(c)^{j−2} / (j−2)! with W the integral of w,
    and the n − j + 1 points beyond to (S − c − need(c))^{n−j+1} / (n−j+1)!. One integral remains,

    P_j = w(0) n! / (Sⁿ (j−2)! (n−j+1)!) ∫ W^{j−2} w (S − c − need)₊^{n−j+1} dc,  j >= 2,
    P_1 = w(0) (1 − need(0) / S)₊ⁿ.

    Derived here; done by Gauss panels, with an end wherever the integrand has a kink, in
    logarithms.
    """
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


def tipping_most(
    rows: Sequence[RowLoad], slack_mm: float, exposures: float, kick_mJ: float, sharing: str
) -> tuple[RowLoad, Floats]:
    """Return the row of some that tips most cans at a kick energy, and its cans' log chances.

    The first of equals: of rows that never tip, the one with the least balance angle.
    """
    kick = np.array([kick_mJ])
    found = [(r, log_stage_chances(slack_mm, r, exposures, kick, sharing)[0]) for r in rows]
    return max(found, key=lambda one: float(np.logaddexp.reduce(one[1])))


def row_cans(pack: Pack) -> int:
    """Cans in a row from guide to guide: the lanes of a lengthwise pack, half that crosswise."""
    if pack.layout == "crosswise":
        return (pack.lanes + 1) // 2
    return pack.lanes


def rows_of(
    pack: Pack, loads: Sequence[tuple[Stance, float]], heights_mm: tuple[float, ...]
) -> tuple[RowLoad, ...]:
    """Return a row of a pack under each load, stance and balance angle; none without cans."""
    cans = row_cans(pack)
    if not cans:
        return ()
    return tuple(RowLoad(cans, stance, heights_mm, balance) for stance, balance in loads)
