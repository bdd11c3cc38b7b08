"""Are two settings different, and how many cans it takes to find out.

Two Poisson counts X₁, X₂ over equal numbers of cans are compared by the conditional test: given
their sum, X₁ is binomial with share ½ if the rates are the same. Exact, and never more false alarms
than stated. Source: [przyborowski1940]_.
"""

import math

import numpy as np

from packsim.arrays import Floats
from packsim.errors import between, non_negative

_MOST_EVENTS = 20_000.0
"""Beyond this many expected tips the normal approximation is exact to four digits."""


def power_of_two_counts(mean_first: float, mean_second: float, alpha: float = 0.05) -> float:
    """Return the chance that the conditional test tells two expected counts apart.

    Parameters
    ----------
    mean_first, mean_second : float
        Expected tips at each setting, over the same number of cans.
    alpha : float
        Chance of a false alarm, both sides together, at most [-].

    Returns
    -------
    float
        Power [-], summed over the total count: Σ P(T = t) P(X₁ rejects | t).

    Notes
    -----
    Given T = t, X₁ is binomial with share μ₁/(μ₁ + μ₂). The rejection region of each t is each
    tail of the fair binomial up to alpha/2. Terms of T with a chance below 1e-12 are left out.

    Examples
    --------
    >>> power_of_two_counts(10.0, 30.0)
    0.873
    """
    from scipy.stats import binom, poisson

    first = non_negative("mean_first", mean_first)
    second = non_negative("mean_second", mean_second)
    between("alpha", alpha, 1e-6, 0.5)
    if first + second == 0.0:
        return 0.0
    totals = _likely_totals(first + second)
    lowest = binom.ppf(alpha / 2.0, totals, 0.5)  # smallest k with P(X <= k) >= alpha/2
    reject = np.where(binom.cdf(lowest, totals, 0.5) <= alpha / 2.0, lowest, lowest - 1.0)
    share = first / (first + second)
    hit = binom.cdf(reject, totals, share) + binom.sf(totals - reject - 1.0, totals, share)
    return float(np.sum(poisson.pmf(totals, first + second) * hit))


def cans_to_tell_apart(
    per_million_first: float, per_million_second: float, power: float = 0.9, alpha: float = 0.05
) -> float:
    """Return the cans to run at each of two settings so that a test tells them apart.

    Parameters
    ----------
    per_million_first, per_million_second : float
        Tips per million at each setting.
    power : float
        Chance to find the difference if it is there [-].
    alpha : float
        Chance of a false alarm, both sides together [-].

    Returns
    -------
    float
        Cans at each setting; infinite for equal rates.

    Notes
    -----
    Bisected on the exact power; close to
    (z_{1−α/2} + z_power)² / (2 (√λ₁ − √λ₂)²), which stands in for more than 20 000 tips.

    Examples
    --------
    >>> round(cans_to_tell_apart(10.0, 30.0), -3)
    1080000.0
    """
    from scipy.special import ndtri

    first = non_negative("per_million_first", per_million_first) / 1e6
    second = non_negative("per_million_second", per_million_second) / 1e6
    between("power", power, 0.5, 0.999)
    between("alpha", alpha, 1e-6, 0.5)
    if first == second:
        return math.inf
    z = float(ndtri(1.0 - alpha / 2.0) + ndtri(power))
    guess = z**2 / (2.0 * (math.sqrt(first) - math.sqrt(second)) ** 2)
    if guess * (first + second) > _MOST_EVENTS:
        return guess
    low, high = guess / 4.0, guess * 1.5
    while power_of_two_counts(high * first, high * second, alpha) < power:
        low, high = high, high * 1.5
    while high - low > 1e-4 * high:
        middle = (low + high) / 2.0
        enough = power_of_two_counts(middle * first, middle * second, alpha) >= power
        low, high = (low, middle) if enough else (middle, high)
    return high


def _likely_totals(mean: float) -> Floats:
    from scipy.stats import poisson

    low, high = poisson.ppf(1e-12, mean), poisson.isf(1e-12, mean)
    return np.arange(max(0.0, low), high + 1.0)
