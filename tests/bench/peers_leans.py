"""The peer of every lean: numpy, all cans and directions at once, neighbours from a KD-tree."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Floats = NDArray[np.float64]


def travel_by_tree(
    points: Floats,
    radius: Floats,
    gaps: tuple[Floats, Floats],
    wires: Sequence[float],
    height: float,
    directions: int,
) -> Floats:
    """How far each top can move, shape (directions, n) [mm].

    Neighbours within 0.7 diameters first; cans that could lean farther are asked again with all
    within their height, as ours are: asking all of them for everybody takes four times as long.
    ``gaps`` are those to the right and to the left guide.
    """
    near = 1.4 * float(radius.max())
    tree = cKDTree(points, balanced_tree=False, compact_nodes=False)
    pairs = tree.query_pairs(near + 2.0 * float(radius.max()), output_type="ndarray")
    owner = np.concatenate((pairs[:, 0], pairs[:, 1]))
    other = np.concatenate((pairs[:, 1], pairs[:, 0]))
    travel = _least(points, radius, owner, other, len(points), directions, height)
    _stop_at_guides(travel, gaps, wires, height)
    far = np.flatnonzero(travel.max(axis=0) > near)
    if far.size:
        some = cKDTree(points[far], balanced_tree=False, compact_nodes=False)
        reach = height + 2.0 * float(radius.max())
        found = some.sparse_distance_matrix(tree, reach, output_type="ndarray")
        apart = far[found["i"]] != found["j"]
        owner, other = found["i"][apart], found["j"][apart]
        again = _least(points, radius, owner, other, far.size, directions, height, far)
        _stop_at_guides(again, (gaps[0][far], gaps[1][far]), wires, height)
        travel[:, far] = again
    return travel


def _least(
    points: Floats,
    radius: Floats,
    owner: NDArray[np.intp],
    other: NDArray[np.intp],
    count: int,
    directions: int,
    height: float,
    cans: NDArray[np.intp] | None = None,
) -> Floats:
    """Free travel of each owner in every direction; ``cans`` says which cans the owners are."""
    order = np.argsort(owner, kind="stable")
    owner, other = owner[order], other[order]
    own = owner if cans is None else cans[owner]
    x, y = (points[other] - points[own]).T
    square = (radius[own] + radius[other]) ** 2
    start = np.searchsorted(owner, np.arange(count))
    alone = start == np.append(start[1:], owner.size)
    start = np.minimum(start, max(owner.size - 1, 0))
    travel = np.full((directions, count), height)
    for k in range(directions if owner.size else 0):
        turn = 2.0 * math.pi * k / directions
        along = x * math.cos(turn) + y * math.sin(turn)
        room = square - (y * math.cos(turn) - x * math.sin(turn)) ** 2
        meets = (along > 0.0) & (room > 0.0)
        free = np.where(meets, along - np.sqrt(np.maximum(room, 0.0)), height)
        travel[k] = np.where(alone, height, np.minimum.reduceat(free, start))
    return np.clip(travel, 0.0, height, out=travel)


def _stop_at_guides(
    travel: Floats, gaps: tuple[Floats, Floats], wires: Sequence[float], height: float
) -> None:
    """Shorten the travel where a wire stops the can first: at H sin θ with z tan θ = gap."""
    for k in range(len(travel)):
        across = math.sin(2.0 * math.pi * k / len(travel))
        if abs(across) < 1e-9:
            continue
        out = np.maximum(gaps[0] if across > 0.0 else gaps[1], 0.0) / abs(across)
        beside = np.flatnonzero(out < height)
        out = out[beside]
        stop = np.full(out.shape, height)
        for z in sorted(wires):
            touches = out**2 + z**2 < height**2
            stop[touches] = height * out[touches] / np.hypot(out[touches], z)
        travel[k, beside] = np.minimum(travel[k, beside], stop)
