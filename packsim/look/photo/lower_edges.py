"""Where distances of neighbours begin: what a view is started with before its gaps are fitted.

The lower edge L of each of the lattice's three directions is sought by greatest likelihood, of
pairs that touch and gaps that fall off exponentially. A symmetric matrix A that turns plane into
true plane has |A u| = D/L along each direction u: three equations for three numbers. Derived here.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.look.photo.gap_shapes import CLASSES
from packsim.look.photo.rectify import view_of

LEAST_PAIRS: Final = 8
"""Pairs of one direction; fewer do not tell where distances begin."""


def neighbours(plane_mm: Floats) -> tuple[Ints, Ints, float]:
    """Pairs that stand next to each other (p, 2), their direction 0 to 2, and where 0 points."""
    from scipy.spatial import cKDTree

    if len(plane_mm) < 4:
        return np.empty((0, 2), dtype=np.int64), np.empty(0, dtype=np.int64), 0.0
    tree = cKDTree(plane_mm)
    usual = np.median(tree.query(plane_mm, 2)[0][:, 1])
    pairs = np.asarray(tree.query_pairs(1.3 * usual, output_type="ndarray"), dtype=np.int64)
    apart = plane_mm[pairs[:, 1]] - plane_mm[pairs[:, 0]]
    way = np.arctan2(apart[:, 1], apart[:, 0])
    turn = float(np.angle(np.mean(np.exp(6j * way)))) / 6.0
    return pairs, np.rint((way - turn) / (math.pi / 3.0)).astype(np.int64) % CLASSES, turn


def by_lower_edges(
    numbers: Floats, size: tuple[int, int], centres_px: Floats, diameter: float
) -> Floats:
    """Return the numbers with scale and flattening by the lower edges of three directions."""
    plane = view_of(numbers, size).to_mm(centres_px)
    pairs, kind, turn = neighbours(plane)
    if not len(pairs):
        return numbers
    length = np.hypot(*(plane[pairs[:, 1]] - plane[pairs[:, 0]]).T)
    here = [c for c in range(CLASSES) if np.sum(kind == c) >= LEAST_PAIRS]
    if not here:
        return numbers
    some = max(1, len(length) // 1000)  # a thousand tell enough of where to begin
    edges = np.array([_lower_edge(length[kind == c][::some], 0.2) for c in here])
    way = turn + math.pi / 3.0 * np.array(here)
    rows = np.column_stack((np.cos(way) ** 2, np.sin(2.0 * way), np.sin(way) ** 2))
    hold = 0.05 * np.array([[1.0, 0.0, -1.0], [0.0, 2.0, 0.0]])
    right = np.concatenate(((diameter / edges) ** 2 - 1.0, np.zeros(2)))
    b, c, d = np.linalg.lstsq(np.vstack((rows, hold)), right, rcond=None)[0]
    values, vectors = np.linalg.eigh(np.array([[1.0 + b, c], [c, 1.0 + d]]))
    matrix = vectors @ np.diag(np.sqrt(values)) @ vectors.T
    upper = np.linalg.qr(matrix @ np.array([[numbers[0], numbers[1]], [0.0, numbers[2]]]))[1]
    upper = upper * np.sign(np.diag(upper))[:, None]
    return np.array([upper[0, 0], upper[0, 1], upper[1, 1], *numbers[3:]])


def _lower_edge(length_mm: Floats, error_mm: float) -> float:
    """Return the distance at which lengths begin [mm]."""
    from scipy.special import logsumexp

    low, high = np.quantile(length_mm, (0.0, 0.7))
    edges = np.linspace(low, max(high, low + 4.0 * error_mm), 200)
    off = length_mm - edges[:, None]
    touch = -0.5 * (off / error_mm) ** 2 - math.log(error_mm * math.sqrt(2.0 * math.pi))
    best = np.full(len(edges), -np.inf)
    for mean in (0.3, 0.6, 1.2, 2.5, 5.0):
        gap = _log_gaps(off, np.array(mean), error_mm)
        for share in (0.02, 0.2, 0.4, 0.6, 0.8, 0.95):
            parts = [touch + math.log(share), gap + math.log(1.0 - share)]
            each = logsumexp([*parts, np.full_like(off, math.log(1e-3))], axis=0)
            best = np.maximum(best, each.sum(axis=1))
    return float(edges[np.argmax(best)])


def _log_gaps(off: Floats, mean: Floats, error: float) -> Floats:
    """Log density of an exponential gap measured with an error."""
    from scipy.special import log_ndtr

    tail = log_ndtr(off / error - error / mean) - off / mean + error**2 / (2.0 * mean**2)
    return np.asarray(tail - np.log(mean))
