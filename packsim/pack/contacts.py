"""Who touches whom: neighbour search on a grid of square cells, periodic along travel if asked."""

from __future__ import annotations

import math

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.check import positive
from packsim.errors import InputError


def neighbour_pairs(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Floats]:
    """Find all pairs of points no farther apart than a cutoff.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Points [mm].
    cutoff_mm : float
        Greatest distance, itself included [mm].
    period_mm : float, optional
        Period along x; None for a plane without one [mm].

    Returns
    -------
    pairs : ndarray of int, shape (m, 2)
        i < j, each pair once. In a period shorter than two cutoffs a pair may be near in several
        ways: each way is listed once. A point near its own image is listed as (i, i), once for
        each distance, not for each direction.
    vectors_mm : ndarray, shape (m, 2)
        From i to j [mm].

    Raises
    ------
    InputError
        If a centre is not finite, or cutoff or period is not above 0.

    Notes
    -----
    Points are sorted into cells one cutoff wide; each looks into its own cell and four of the
    eight around it, so a pair is met once. Images one or more periods ahead stand in for the
    periodic neighbours; two images never pair.
    """
    points, owner = _with_images(centres_mm, positive("cutoff_mm", cutoff_mm), period_mm)
    first, second = _near(points, cutoff_mm)
    vectors = points[second] - points[first]
    near = np.einsum("ij,ij->i", vectors, vectors) <= cutoff_mm**2
    near &= np.minimum(first, second) < len(centres_mm)
    first, second, vectors = owner[first[near]], owner[second[near]], vectors[near]
    swap = first > second
    vectors[swap] *= -1.0
    pairs = np.column_stack((np.minimum(first, second), np.maximum(first, second)))
    return pairs, vectors


def neighbour_lists(
    centres_mm: Floats, cutoff_mm: float, period_mm: float | None = None
) -> tuple[Ints, Ints, Floats]:
    """List, for each point, every neighbour no farther than a cutoff.

    Parameters
    ----------
    centres_mm, cutoff_mm, period_mm
        As for `neighbour_pairs`.

    Returns
    -------
    indptr : ndarray of int, shape (n + 1,)
        Neighbours of point i are entries indptr[i] up to indptr[i + 1].
    indices : ndarray of int, shape (m,)
        The neighbours. In a short period one may appear in several ways, a point's own images too.
    vectors_mm : ndarray, shape (m, 2)
        From the point to the neighbour [mm].
    """
    pairs, vectors = neighbour_pairs(centres_mm, cutoff_mm, period_mm)
    start = np.concatenate((pairs[:, 0], pairs[:, 1]))
    end = np.concatenate((pairs[:, 1], pairs[:, 0]))
    order = np.argsort(start, kind="stable")
    counts = np.bincount(start, minlength=len(centres_mm))
    indptr = np.concatenate((np.zeros(1, np.int64), np.cumsum(counts)))
    return indptr, end[order], np.concatenate((vectors, -vectors))[order]


def _with_images(centres_mm: Floats, cutoff: float, period_mm: float | None) -> tuple[Floats, Ints]:
    """Points wrapped into one period, then their images up to a cutoff ahead; and whose each is."""
    points = np.asarray(centres_mm, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(points).all():
        raise InputError("centres_mm", "a centre that is not finite", "finite numbers")
    owner = np.arange(len(points))
    if period_mm is None or len(points) == 0:
        return points, owner
    period = positive("period_mm", period_mm)
    points = points.copy()
    points[:, 0] -= np.floor(points[:, 0] / period) * period
    images, owners = [points], [owner]
    for k in range(1, math.ceil(cutoff / period) + 1):
        ahead = np.flatnonzero(points[:, 0] + (k - 1) * period <= cutoff)
        images.append(points[ahead] + (k * period, 0.0))
        owners.append(ahead)
    return np.concatenate(images), np.concatenate(owners)


def _near(points: Floats, cutoff: float) -> tuple[Ints, Ints]:
    """Candidate pairs: points in the same or a neighbouring cell, each pair once."""
    if len(points) == 0:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    column, row = np.floor((points - points.min(axis=0)) / cutoff).astype(np.int64).T
    width = int(column.max()) + 2  # one empty column keeps the ends of rows apart
    cell = row * width + column
    order = np.argsort(cell, kind="stable")
    cell = cell[order]
    here = np.arange(len(points))
    # the rest of this cell with the one ahead, then three cells of the next row
    starts = np.concatenate((here + 1, np.searchsorted(cell, cell + width - 1, "left")))
    ends = np.searchsorted(cell, np.concatenate((cell + 1, cell + width + 1)), "right")
    counts = ends - starts
    first = np.repeat(np.concatenate((here, here)), counts)
    offset = np.repeat(np.cumsum(counts) - counts - starts, counts)
    second = np.arange(len(first)) - offset
    return order[first], order[second]
