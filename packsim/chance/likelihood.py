"""The likelihood of one unknown, the kick energy of a group of stages, given counts of tips.

A count varies by chance, and the mean the model gives it has the standard error of its passage.
Both together are a negative binomial count whose shape is 1/s², with s the relative standard error.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.chance.curve import Curve
from packsim.counts.intervals import zero_count_limit
from packsim.errors import between

_POINTS: Final = 1200
"""Points of the first look; what it finds is then refined."""

_NEVER: Final = -300.0
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

    def log_mean(self, x: ArrayLike) -> tuple[Floats, Floats]:
        """Return ln of the expected count against ln of the unknown, and its relative error."""
        at = np.asarray(x, dtype=np.float64)
        pairs = list(zip(self.curves, self.offsets, strict=True))
        parts = np.stack([curve.log_chance(at + offset) for curve, offset in pairs])
        errors = np.stack([curve.error_at(at + offset) for curve, offset in pairs])
        total: Floats = np.logaddexp.reduce(parts, axis=0)
        share = np.exp(parts - np.where(np.isfinite(total), total, 0.0))
        return total + np.log(float(self.cans)), np.sqrt(np.sum((share * errors) ** 2, axis=0))


@dataclass(frozen=True, slots=True, eq=False)
class CountTable:
    """Expected counts of several observations against the unknown, made once.

    Parameters
    ----------
    x : ndarray, shape (m,)
        ln of the unknown, rising.
    log_means, all_errors : ndarray, shape (k, m)
        ln of each observation's expected count, and its relative standard error.
    spline : object
        Cubic through the counts.
    errors : ndarray, shape (k,)
        Relative standard error where the counts are fitted; 0 at first.
    """

    x: Floats
    log_means: Floats
    all_errors: Floats
    spline: Any
    errors: Floats

    def means(self, x: float) -> Floats:
        """Return the expected counts at one value, shape (k,)."""
        result: Floats = np.exp(self.spline(x))
        return result

    def deviance(self, x: ArrayLike, counts: ArrayLike) -> Floats:
        """Return the deviance of counts, shape (..., k), at values of the unknown."""
        means = np.exp(self.spline(x))
        return deviance(counts, np.moveaxis(means, 0, -1), self.errors)


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


def deviance(counts: ArrayLike, means: ArrayLike, errors: ArrayLike = 0.0) -> Floats:
    """Twice what the log-likelihood of counts is below its greatest value, over the last axis.

    Parameters
    ----------
    counts, means, errors : array_like, shape (..., k)
        Counts, expected counts, and the relative standard errors s of these.

    Returns
    -------
    ndarray
        2 Σ [c ln(c/μ) − (c + 1/s²) ln((c + 1/s²)/(μ + 1/s²))], with 0 ln 0 = 0; for s = 0 that of
        Poisson counts, 2 Σ [c ln(c/μ) − (c − μ)].

    Examples
    --------
    >>> float(deviance([3, 0], [3.0, 1.0]))
    2.0
    """
    c, mu = np.asarray(counts, dtype=np.float64), np.asarray(means, dtype=np.float64)
    mu = np.maximum(mu, 1e-300)
    shape = 1.0 / np.maximum(errors, 1e-6) ** 2
    ratio = np.where(c > 0.0, c, 1.0) / np.where(c > 0.0, mu, 1.0)
    spread = (c + shape) * np.log1p((c - mu) / (mu + shape))
    total: Floats = 2.0 * np.sum(c * np.log(ratio) - spread, axis=-1)
    return total


def table_of(observations: Sequence[Observation]) -> CountTable:
    """Table the expected counts of observations, none of which is ruled out by the model."""
    from scipy.interpolate import CubicSpline

    ends = [
        (curve.log_energy[0] - offset, curve.log_energy[-1] - offset)
        for one in observations
        for curve, offset in zip(one.curves, one.offsets, strict=True)
        if not curve.never
    ]
    x = np.linspace(min(low for low, _ in ends), max(high for _, high in ends), _POINTS)
    told = [one.log_mean(x) for one in observations]
    logs = np.maximum(np.stack([log for log, _ in told]), _NEVER)
    errors = np.stack([error for _, error in told])
    return CountTable(x, logs, errors, CubicSpline(x, logs, axis=1), np.zeros(len(observations)))


def with_errors(table: CountTable, counts: Sequence[int]) -> CountTable:
    """Return a table with the standard errors its passages have at the energy of the counts."""
    grid = table.deviance(table.x, np.asarray(counts, dtype=np.float64))
    return replace(table, errors=table.all_errors[:, int(np.argmin(grid))])


def estimate(
    table: CountTable, counts: Sequence[int], confidence: float = 0.95, widening: float = 1.0
) -> Estimate:
    """Fit the unknown by maximum likelihood with its profile interval.

    Parameters
    ----------
    table : CountTable
        Expected counts against the unknown.
    counts : sequence of int
        What was counted.
    confidence : float
        Of the interval [-].
    widening : float
        Quasi-likelihood factor on the deviance the interval may spend, 1 for plain counts [-].

    Returns
    -------
    Estimate
        The interval holds every value whose deviance is within χ²(confidence; 1) × widening of the
        least. With no tips at all only a limit from above: where at least one tip would have been
        expected with that confidence, Σ μ = −ln(1 − confidence).

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
        limit = where_total_reaches(table, zero_count_limit(confidence))
        return Estimate(0.0, 0.0, limit, limit, "upper limit")

    def loss(at: float) -> float:
        return float(table.deviance(at, c))

    grid = table.deviance(x, c)
    top = int(np.argmin(grid))
    peak = float(x[-1])
    if top < len(x) - 1:
        ends = (x[max(0, top - 1)], x[top + 1])
        least_at = minimize_scalar(loss, bounds=ends, method="bounded", options={"xatol": 1e-9})
        peak = round(float(least_at.x), 7)  # further digits are those of the search
    least = loss(peak)
    limit = least + float(chdtri(1, 1.0 - confidence)) * widening
    left, right = np.flatnonzero(grid[:top] > limit), np.flatnonzero(grid[top:] > limit)
    low, high = 0.0, np.inf
    if len(left):
        low = float(np.exp(brentq(lambda at: loss(at) - limit, x[left[-1]], peak)))
    if len(right):
        high = float(np.exp(brentq(lambda at: loss(at) - limit, peak, x[top + right[0]])))
    # on the level top of the curve a little more or less kick changes nothing
    beyond = grid[-1] <= least + 2e-6
    status = "beyond the model" if beyond else "fitted"
    return Estimate(np.inf if beyond else float(np.exp(peak)), low, high, np.inf, status)


def where_total_reaches(table: CountTable, total: float) -> float:
    """Return the unknown at which so many tips are expected in all; infinite if nowhere."""
    logs = np.logaddexp.reduce(table.log_means, axis=0)
    if logs[-1] <= np.log(total):
        return float(np.inf)
    return float(np.exp(np.interp(np.log(total), logs, table.x)))
