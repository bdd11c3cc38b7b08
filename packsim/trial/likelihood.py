"""The likelihood of one unknown, the kick energy of a group of stages, given counts of tips."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import between
from packsim.passage.counting import zero_count_limit
from packsim.trial.curves import Curve

_POINTS: Final = 1200
"""Points of the first look; what it finds is then refined."""

_NEVER: Final = -1e6
"""Stands for ln 0 in the table: no count of any washer comes near it."""


@dataclass(frozen=True, slots=True, eq=False)
class Observation:
    """One count of tips, and the stages it may come from at the settings of its trial.

    ``offsets`` are ln of each stage's kick energy over the unknown.
    """

    trial: int
    cans: int
    tipped: int
    curves: tuple[Curve, ...]
    offsets: tuple[float, ...]

    @property
    def never(self) -> bool:
        """Whether the model rules a tip out whatever the kick energy."""
        return all(curve.never for curve in self.curves)

    @property
    def says_nothing(self) -> bool:
        """Whether the expected count does not depend on the kick energy."""
        return all(curve.says_nothing for curve in self.curves)

    def log_mean(self, x: ArrayLike) -> Floats:
        """Return ln of the expected count against ln of the unknown."""
        at = np.asarray(x, dtype=np.float64)
        parts = [c.log_chance(at + o) for c, o in zip(self.curves, self.offsets, strict=True)]
        total: Floats = np.log(float(self.cans)) + np.logaddexp.reduce(np.stack(parts), axis=0)
        return total


@dataclass(frozen=True, slots=True, eq=False)
class CountTable:
    """Expected counts of several observations against the unknown, made once.

    Parameters
    ----------
    x : ndarray, shape (m,)
        ln of the unknown, rising.
    log_means : ndarray, shape (k, m)
        ln of each observation's expected count.
    spline : object
        Cubic through them.
    """

    x: Floats
    log_means: Floats
    spline: Any

    def means(self, x: float) -> Floats:
        """Return the expected counts at one value, shape (k,)."""
        result: Floats = np.exp(self.spline(x))
        return result

    def loss(self, x: ArrayLike, counts: ArrayLike) -> Floats:
        """Return what the log-likelihood of counts is below 0, less its constant, at any x."""
        logs = self.spline(x)
        result: Floats = np.exp(logs).sum(axis=0) - np.asarray(counts) @ logs
        return result


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a likelihood says about its unknown.

    Parameters
    ----------
    best, low, high : float
        Most likely value and ends of the profile interval; 0 and infinity where it is open.
    upper_limit : float
        One-sided limit where nothing tipped; infinite where even the roughest kicks might tip none.
    status : {"fitted", "upper limit", "beyond the model"}
        ``upper limit``: no tips. ``beyond the model``: more tips than any kick energy gives.
    """

    best: float
    low: float
    high: float
    upper_limit: float
    status: str


def table_of(observations: Sequence[Observation]) -> CountTable:
    """Table the expected counts of observations, none of which `says_nothing`.

    From where nothing would tip to where a stronger kick tips no more.
    """
    from scipy.interpolate import CubicSpline

    ends = [
        (curve.low_log - offset, curve.high_log - offset)
        for one in observations
        for curve, offset in zip(one.curves, one.offsets, strict=True)
        if not curve.says_nothing
    ]
    x = np.linspace(min(low for low, _ in ends), max(high for _, high in ends), _POINTS)
    logs = np.stack([np.maximum(one.log_mean(x), _NEVER) for one in observations])
    return CountTable(x, logs, CubicSpline(x, logs, axis=1))


def log_likelihoods(table: CountTable, counts: ArrayLike) -> Floats:
    """Poisson log-likelihood Σ c ln μ − μ, less its constant, at every x of the table.

    Parameters
    ----------
    table : CountTable
        Expected counts.
    counts : array_like, shape (..., k)
        Counts of the observations.

    Returns
    -------
    ndarray, shape (..., m)
        One curve for each set of counts.
    """
    c = np.asarray(counts, dtype=np.float64)
    result: Floats = c @ table.log_means - np.exp(table.log_means).sum(axis=0)
    return result


def estimate(table: CountTable, counts: Sequence[int], confidence: float = 0.95) -> Estimate:
    """Fit the unknown by maximum likelihood with its profile interval.

    Parameters
    ----------
    table : CountTable
        Expected counts against the unknown.
    counts : sequence of int
        What was counted.
    confidence : float
        Of the interval [-].

    Returns
    -------
    Estimate
        The interval holds every value whose log-likelihood is within χ²(confidence; 1)/2 of the
        greatest. With no tips at all only a limit from above: where at least one tip would have
        been expected with that confidence, Σ μ = −ln(1 − confidence).

    Notes
    -----
    [wilks1938]_. Coverage is measured in tests/trial/test_coverage.py.
    """
    from scipy.optimize import brentq, minimize_scalar
    from scipy.special import chdtri

    between("confidence", confidence, 0.5, 0.999999)
    c = np.asarray(counts, dtype=np.float64)
    x = table.x
    if not c.any():
        limit = _where_total_reaches(table, zero_count_limit(confidence))
        return Estimate(0.0, 0.0, limit, limit, "upper limit")

    def loss(at: float) -> float:
        return float(table.loss(at, c))

    grid = -log_likelihoods(table, c)
    top = int(np.argmin(grid))
    if top == len(x) - 1:
        peak = x[-1]
    else:
        ends = (x[max(0, top - 1)], x[top + 1])
        peak = float(
            minimize_scalar(loss, bounds=ends, method="bounded", options={"xatol": 1e-9}).x
        )
    least = loss(peak)
    limit = least + float(chdtri(1, 1.0 - confidence)) / 2.0
    over = grid > limit
    left, right = np.flatnonzero(over[:top]), np.flatnonzero(over[top:])
    low, high = 0.0, np.inf
    if len(left):
        low = float(np.exp(brentq(lambda at: loss(at) - limit, x[left[-1]], peak)))
    if len(right):
        high = float(np.exp(brentq(lambda at: loss(at) - limit, peak, x[top + right[0]])))
    # on the level top of the curve a little more or less kick changes nothing
    beyond = grid[-1] <= least + 1e-6
    status = "beyond the model" if beyond else "fitted"
    return Estimate(np.inf if beyond else float(np.exp(peak)), low, high, np.inf, status)


def _where_total_reaches(table: CountTable, total: float) -> float:
    from scipy.optimize import brentq

    def short(at: float) -> float:
        return float(np.exp(table.spline(at)).sum()) - total

    if short(table.x[-1]) <= 0.0:
        return float(np.inf)
    return float(np.exp(brentq(short, table.x[0], table.x[-1])))
