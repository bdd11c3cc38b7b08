"""How sure a count of rare events is."""

import math
from collections.abc import Sequence

from packsim.errors import at_least, between, whole


def poisson_interval(
    count: int, confidence: float = 0.95, dispersion: float = 1.0
) -> tuple[float, float]:
    """Two-sided interval for the mean of a count, exact where it is Poisson.

    Parameters
    ----------
    count : int
        Events seen, 0 or more.
    confidence : float
        Between 0 and 1 [-].
    dispersion : float
        Variance over mean of such counts, at least 1; above it events come in clusters [-].

    Returns
    -------
    low, high : float
        χ²(a/2; 2n)/2 and χ²(1 − a/2; 2n + 2)/2 with a = 1 − confidence; low is 0 for no event.

    Notes
    -----
    [garwood1936]_. It holds the mean at least as often as it says. Where events come in clusters,
    n of them say as much as n/d single ones, d the dispersion: the interval is that of n/d, times
    d. How often that holds the mean is measured in tests/counts/test_clusters.py.

    Examples
    --------
    >>> [round(end, 3) for end in poisson_interval(0)]
    [0.0, 3.689]
    """
    from scipy.special import gammaincinv  # heavy to import, needed here alone

    whole("count", count, 0, 2**53, "a whole number of 0 or more")
    between("confidence", confidence, 1e-9, 1.0 - 1e-9)
    tail, d = (1.0 - confidence) / 2.0, at_least("dispersion", dispersion, 1.0)
    low = d * float(gammaincinv(count / d, tail)) if count else 0.0
    return low, d * float(gammaincinv(count / d + 1.0, 1.0 - tail))


def per_million_interval(
    count: int, cans: int, confidence: float = 0.95, dispersion: float = 1.0
) -> tuple[float, float]:
    """Return `poisson_interval` of a count among so many cans, above 0, in a million of them."""
    low, high = poisson_interval(count, confidence, dispersion)
    return 1e6 * low / cans, 1e6 * high / cans


def agreement(counted: Sequence[float], expected: Sequence[float]) -> str:
    """Say whether two rates agree, that is, their 95 % intervals overlap.

    ``agree``, ``more counted`` or ``fewer counted``.
    """
    if counted[0] > expected[1]:
        return "more counted"
    return "fewer counted" if counted[1] < expected[0] else "agree"


def dispersion_of(counts: Sequence[int], clusters: Sequence[int]) -> float:
    """Variance over mean of counts: 1 where events come singly, more where in clusters.

    Parameters
    ----------
    counts : sequence of int
        Events in repeats of one and the same run.
    clusters : sequence of int
        Events in each of the clusters that were seen.

    Returns
    -------
    float
        At least 1: the larger of two estimates. If clusters of k events come singly, variance over
        mean is Σk²/Σk; it needs one run only. Between repeats it is what they show, taken where
        repeats of single events would show as much in one case of twenty or less.
    """
    from scipy.special import gammaincc  # heavy to import, needed here alone

    total, repeats = sum(counts), len(counts)
    if not total:
        return 1.0
    told = [1.0, sum(k * k for k in clusters) / max(1, sum(clusters))]
    if repeats > 1:
        mean = total / repeats
        square = sum((count - mean) ** 2 for count in counts) / mean  # χ² of repeats − 1
        if gammaincc((repeats - 1) / 2.0, square / 2.0) <= 0.05:
            told.append(square / (repeats - 1))
    return max(told)


def zero_count_limit(confidence: float = 0.95) -> float:
    """Mean that would give at least one event with this chance, −ln(1 − confidence).

    The one-sided upper limit when nothing was seen: 2.996 at 95 %, the "rule of three".

    Parameters
    ----------
    confidence : float
        Between 0.5 and 1 [-].

    Returns
    -------
    float
        The mean [-].

    Examples
    --------
    >>> zero_count_limit()
    2.996
    """
    return -math.log(1.0 - between("confidence", confidence, 0.5, 0.999999))
