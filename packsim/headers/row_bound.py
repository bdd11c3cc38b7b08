"""The most any nozzles can do for the worst lane, and nozzles moved one by one towards it."""

from collections.abc import Sequence

import numpy as np

from packsim.arrays import Floats, Ints
from packsim.headers.demand import Demand, score
from packsim.headers.row_search import APART_MM, HOLE_MM, Limits, Rows, whole


def bound(demands: Sequence[Demand], pipe_mm: tuple[float, float]) -> float:
    """Return a score no nozzles can pass, however many there are and wherever they stand [-].

    Parameters
    ----------
    demands : sequence of Demand
        What the cans take.
    pipe_mm : tuple of float
        Places they may stand between [mm].

    Returns
    -------
    float
        The bound.

    Notes
    -----
    Derived here. Shares of the flow at places across the mat are a linear programme: they sum to
    1, and the least of the scores, which are linear in them, is made greatest. Any prices of the
    cans that sum to 1 bound it from above by what the dearest place earns, and that is looked for
    every tenth of a millimetre; the prices of the programme on places every 3 mm are near the best.
    """
    from scipy.optimize import linprog  # takes a second to load, and most commands need none

    points = [d.points_mm(3) for d in demands]

    def worth(places: Floats) -> Floats:
        """Score of each can if all the flow came from one place, shape (places, points)."""
        parts = [
            1.0 - d.weight * (1.0 - d.caught_mm(p, places[:, None]) / d.even_mm)
            for d, p in zip(demands, points, strict=True)
        ]
        return np.concatenate(parts, axis=1)

    low, high = pipe_mm
    coarse = worth(np.arange(low, high + 3.0, 3.0))
    count, cans = coarse.shape
    # greatest t with t <= flow @ worth of every can
    found = linprog(
        np.append(np.zeros(count), -1.0),
        A_ub=np.hstack([-coarse.T, np.ones((cans, 1))]),
        b_ub=np.zeros(cans),
        A_eq=np.append(np.ones(count), 0.0)[None, :],
        b_eq=[1.0],
        bounds=[(0.0, None)] * count + [(None, None)],
        method="highs",
    )
    prices = np.maximum(-found.ineqlin.marginals, 0.0)
    prices /= prices.sum()
    dear = np.flatnonzero(prices > 1e-12)
    most = -np.inf
    for start in np.arange(low, high, 50.0):
        places = np.arange(start, min(start + 50.0, high) + 0.05, HOLE_MM)
        most = max(most, float((worth(places)[:, dear] @ prices[dear]).max()))
    return most


def spread_apart(demands: Sequence[Demand], limits: Limits, rows: Rows) -> Floats:
    """Move each nozzle of a row by itself from an equal pitch to where the worst lane gets most.

    Parameters
    ----------
    demands : sequence of Demand
        What the cans take.
    limits : Limits
        Of which the pipe counts.
    rows : Rows
        Where to begin; all rows are drilled as the first.

    Returns
    -------
    ndarray, shape (count,)
        Places, rising, in whole multiples of `HOLE_MM` [mm].

    Notes
    -----
    Linear programmes one after the other: within a step that shrinks where it gained nothing, the
    doses are taken as straight in the places. A local best; `bound` says how far it may be off.
    """
    places = rows.nozzles_mm[0].copy()
    best, step = score(demands, places), 4.0
    points = [d.points_mm(9) for d in demands]
    while step >= HOLE_MM:
        tried = whole(_moved(demands, points, places, step, limits))
        value = score(demands, tried)
        if value > best + 1e-6:
            places, best = tried, value
        else:
            step /= 2.0
    return np.asarray(np.round(places, 6))


def _moved(
    demands: Sequence[Demand],
    points: Sequence[Floats],
    places: Floats,
    step: float,
    limits: Limits,
) -> Floats:
    """Return the best places within a step of those given, doses taken as straight."""
    from scipy.optimize import linprog

    here, slopes = [], []
    for d, p in zip(demands, points, strict=True):
        scale = d.weight / (d.even_mm * len(places))
        at = d.caught_mm(p[:, None], places)
        ahead, back = (d.caught_mm(p[:, None], places + s) for s in (0.5, -0.5))
        here.append(1.0 - d.weight + scale * at.sum(axis=1))
        slopes.append(scale * (ahead - back))
    level, slope = np.concatenate(here), np.concatenate(slopes)
    near: Ints = np.argsort(level)[: min(len(level), 400)]
    count = len(places)
    apart = (np.eye(count) - np.eye(count, k=1))[:-1]
    found = linprog(
        np.append(np.zeros(count), -1.0),
        A_ub=np.vstack(
            [
                np.hstack([-slope[near], np.ones((len(near), 1))]),
                np.hstack([apart, np.zeros((count - 1, 1))]),
            ]
        ),
        b_ub=np.concatenate([level[near], np.diff(places) - APART_MM]),
        bounds=[
            (max(-step, limits.pipe_mm[0] - x), min(step, limits.pipe_mm[1] - x)) for x in places
        ]
        + [(None, None)],
        method="highs",
    )
    return places + found.x[:-1] if found.status == 0 else places
