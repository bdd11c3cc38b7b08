"""Who stands next to whom: for each point those no farther than a cutoff; and who is like whom."""

import math
from collections.abc import Hashable, Sequence

import numpy as np

from packsim.arrays import Bools, Floats, Ints
from packsim.compiled import kernel, run
from packsim.errors import InputError, positive

_PER_POINT = 40
"""Turns of the loop below for each point, roughly."""


def neighbour_lists(
    centres_mm: Floats,
    cutoff_mm: float,
    period_mm: float | None = None,
    asked: Bools | None = None,
) -> tuple[Ints, Ints, Floats, Floats]:
    """List, for each point, every neighbour no farther than a cutoff.

    Parameters
    ----------
    centres_mm : ndarray, shape (n, 2)
        Points [mm].
    cutoff_mm : float
        Greatest distance, itself included [mm].
    period_mm : float, optional
        Period along x; None for a plane without one [mm].
    asked : ndarray of bool, shape (n,), optional
        Points whose neighbours are wanted; all of them by default.

    Returns
    -------
    indptr : ndarray of int, shape (n + 1,)
        Neighbours of point i are entries indptr[i] up to indptr[i + 1].
    indices : ndarray of int, shape (m,)
        The neighbours. In a short period one may appear in several ways, a point's own images too.
    x_mm, y_mm : ndarray, shape (m,)
        From the point to the neighbour [mm].

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
    cutoff, count = positive("cutoff_mm", cutoff_mm), len(centres_mm)
    points, owner = _with_images(centres_mm, cutoff, period_mm)
    if count == 0:
        return np.zeros(1, np.int64), owner, np.empty(0), np.empty(0)
    column, row = np.floor((points - points.min(axis=0)) / cutoff).astype(np.int64).T
    width = int(column.max()) + 2  # one empty column keeps the ends of rows apart
    cell = row * width + column
    order = np.argsort(cell, kind="stable")
    x, y = points[order].T
    mine = np.where(order < count, owner[order], -1 - owner[order])
    wanted = np.ones(count, np.int64) if asked is None else asked.astype(np.int64)
    given = x, y, cell[order], mine, wanted, width, cutoff
    met, room = 4 * count, 0
    while met > room:
        room = met
        met, *lists = run(_listed, _PER_POINT * len(points), *given, room)
    indptr, indices, along, across = lists
    return indptr, indices, along, across


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


@kernel
def _by_point(
    first: Ints, second: Ints, dx: Floats, dy: Floats, asked: Sequence[int]
) -> tuple[Ints, Ints, Floats, Floats]:
    """Turn pairs into a list for each asked point."""
    indptr = np.zeros(len(asked) + 1, np.int64)
    for e in range(len(first)):
        indptr[first[e] + 1] += asked[first[e]]
        indptr[second[e] + 1] += asked[second[e]]
    for i in range(len(asked)):
        indptr[i + 1] += indptr[i]
    at, total = indptr[:-1].copy(), indptr[-1]
    indices, along, across = np.empty(total, np.int64), np.empty(total), np.empty(total)
    for e in range(len(first)):
        i, j = first[e], second[e]
        if asked[i]:
            indices[at[i]], along[at[i]], across[at[i]] = j, dx[e], dy[e]
            at[i] += 1
        if asked[j]:
            indices[at[j]], along[at[j]], across[at[j]] = i, -dx[e], -dy[e]
            at[j] += 1
    return indptr, indices, along, across


@kernel
def _listed(
    x: Sequence[float],
    y: Sequence[float],
    cell: Sequence[int],
    owner: Sequence[int],
    asked: Sequence[int],
    width: int,
    cutoff: float,
    room: int,
) -> tuple[int, Ints, Ints, Floats, Floats]:
    """List neighbours of points sorted by cell; an image's owner is −1 − can.

    Returns how many pairs there are, and the lists of as many as there is room for.
    """
    first, second = np.empty(room, np.int64), np.empty(room, np.int64)
    along, across = np.empty(room), np.empty(room)
    count, square = len(x), cutoff * cutoff
    met = ahead = 0
    for s in range(count):
        here, x0, y0, p = cell[s], x[s], y[s], owner[s]
        while ahead < count and cell[ahead] < here + width - 1:
            ahead += 1
        # the rest of this cell with the one beside it, then three cells of the next row
        t, last = s + 1, here + 1
        for _ in range(2):
            while t < count and cell[t] <= last:
                dx, dy = x[t] - x0, y[t] - y0
                if dx * dx + dy * dy <= square:
                    q = owner[t]
                    i, j = p if p >= 0 else -1 - p, q if q >= 0 else -1 - q
                    if (p >= 0 or q >= 0) and (asked[i] or asked[j]):
                        if met < room:
                            first[met], second[met], along[met], across[met] = i, j, dx, dy
                        met += 1
                t += 1
            t, last = ahead, here + width + 1
    return met, *_by_point(first[: min(met, room)], second, along, across, asked)


def kinds(keys: Sequence[Hashable]) -> tuple[Ints, Ints]:
    """Return which kind each key is, numbered as they first come, and where each kind does so."""
    seen: dict[Hashable, int] = {}
    number = np.array([seen.setdefault(key, len(seen)) for key in keys], dtype=np.int64)
    return number, np.unique(number, return_index=True)[1]
