"""Search of one number for the least of the largest of several piecewise concave curves."""

from collections.abc import Callable

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.constants import PITCH_TOL_MM
from packsim.errors import ConvergenceError

Curves = Callable[[Floats], Floats]

_ROUNDS = 200  # each round at least takes a tenth off every open interval: 1e-9 of it is left
_KEEP = 0.1  # least share of an interval a split leaves on either side


_GROUP = 16  # intervals that are looked at together first


def minimax(curves: Curves, edges: Floats, steepest: float = np.inf) -> tuple[float, float]:
    """Point where the largest of several curves is least, to `PITCH_TOL_MM` in the value.

    Parameters
    ----------
    curves : callable
        Points of shape (n,) to values of shape (n, s) [mm]; every column continuous, and concave
        between neighbouring edges.
    edges : ndarray, shape (e,)
        Rising, the range's ends included [mm].
    steepest : float, optional
        No curve rises or falls by more in a unit [-].

    Returns
    -------
    point, value : float
        The longest of the equally good points met, and the value there [mm].

    Raises
    ------
    ConvergenceError
        If intervals stay open after the allowed rounds.

    Notes
    -----
    A concave curve lies above its chord, so the least of the largest chord bounds an interval from
    below. Branch and bound: an interval is dropped when its bound is no better than the best value
    met, else split near the chords' own minimum, which is exact once the pieces are straight.
    Before that, neighbouring intervals are dropped together where the largest curve cannot fall
    far enough between their ends.
    """
    worth = _worth(curves, edges, steepest)
    asked = np.append(worth, False) | np.append(False, worth)
    asked[0] = True  # it may be the only one
    values = curves(edges[asked])
    points, tops = [edges[asked]], [np.max(values, axis=1)]
    best = float(np.min(tops[0]))
    start, end = edges[:-1][worth], edges[1:][worth]
    number = np.cumsum(asked) - 1
    at_start, at_end = values[number[:-1][worth]], values[number[1:][worth]]
    for _ in range(_ROUNDS):
        hope = np.max(np.minimum(at_start, at_end), axis=1) < best - PITCH_TOL_MM
        start, end, at_start, at_end = start[hope], end[hope], at_start[hope], at_end[hope]
        share, bound = _chord_minimum(at_start, at_end)
        hope = bound < best - PITCH_TOL_MM
        if not np.any(hope):
            met, top = np.concatenate(points), np.concatenate(tops)
            return float(np.max(met[top <= best + PITCH_TOL_MM])), best
        start, end, at_start, at_end = start[hope], end[hope], at_start[hope], at_end[hope]
        cut = start + share[hope] * (end - start)
        kept = start + np.clip(share[hope], _KEEP, 1.0 - _KEEP) * (end - start)
        middle = curves(kept)
        points += [cut, kept]
        tops += [np.max(curves(cut), axis=1), np.max(middle, axis=1)]
        best = min(best, float(np.min(tops[-1])), float(np.min(tops[-2])))
        start, end = np.concatenate([start, kept]), np.concatenate([kept, end])
        at_start = np.concatenate([at_start, middle])
        at_end = np.concatenate([middle, at_end])
    raise ConvergenceError(f"{len(start)} intervals of the search stayed open")


def _worth(curves: Curves, edges: Floats, steepest: float) -> Bools:
    """Which intervals may hold a point as good as the best, from some of the edges alone."""
    ends = np.append(np.arange(0, edges.size - 1, _GROUP), edges.size - 1)
    top = np.max(curves(edges[ends]), axis=1)
    least = (top[:-1] + top[1:] - steepest * np.diff(edges[ends])) / 2.0
    return np.repeat(least <= np.min(top) + PITCH_TOL_MM, np.diff(ends))


def _chord_minimum(at_start: Floats, at_end: Floats) -> tuple[Floats, Floats]:
    """Share of each interval where its largest chord is least, and that value."""
    rise = at_end - at_start
    apart = at_start[:, :, None] - at_start[:, None, :]
    closing = rise[:, None, :] - rise[:, :, None]
    with_ends = np.zeros((len(at_start), rise.shape[1] ** 2 + 2))
    crossing = np.divide(apart, closing, out=np.zeros_like(apart), where=closing != 0.0)
    with_ends[:, 2:] = np.clip(crossing, 0.0, 1.0).reshape(len(at_start), rise.shape[1] ** 2)
    with_ends[:, 1] = 1.0
    top = np.full(with_ends.shape, -np.inf)
    for s in range(rise.shape[1]):
        np.maximum(top, at_start[:, s, None] + rise[:, s, None] * with_ends, out=top)
    k = np.argmin(top, axis=1)[:, None]
    share = np.take_along_axis(with_ends, k, axis=1)[:, 0]
    return share, np.take_along_axis(top, k, axis=1)[:, 0]
