"""How slack spreads over the gaps of a row when nothing but chance shares it out.

A slack S split into n gaps by chance is a stick broken at n − 1 random places. A row of m cans
between two guides has n = m + 1 gaps. All functions speak of shares of S; multiply by S for mm.
"""

from __future__ import annotations

import math

from packsim.errors import InputError, between, finite, non_negative

__all__ = [
    "compressibility",
    "gap_exceeds",
    "longest_exceeds",
    "longest_gap_exceeds",
    "longest_quantile",
    "longest_within",
    "mean_longest",
    "mean_smallest",
]

MAX_GAPS = 2_000
"""More gaps than any mat has cans across; keeps the exact sums short."""


def gap_exceeds(gaps: int, share: float) -> float:
    """Chance that one given gap is more than ``share`` of the slack, (1 − x)^(n−1) [-].

    Parameters
    ----------
    gaps : int
        Number n of gaps, at least 1.
    share : float
        Gap over slack x; 0 or less gives 1, 1 or more gives 0 [-].

    Returns
    -------
    float
        The chance. Source: [davidnagaraja]_, p. 135.
    """
    n = _count(gaps)
    x = finite("share", share)
    if x < 0.0:
        return 1.0
    if x >= 1.0:
        return 0.0
    return math.exp((n - 1) * math.log1p(-x))


def longest_exceeds(gaps: int, share: float) -> float:
    """Chance that the longest of n gaps is more than ``share`` of the slack [-].

    Parameters
    ----------
    gaps : int
        Number n of gaps, 1 to 2000.
    share : float
        Gap over slack x [-].

    Returns
    -------
    float
        Σ (−1)^(k−1) C(n,k) (1 − k x)^(n−1) over k with k x < 1, correctly rounded.

    Notes
    -----
    The sum alternates with terms up to e^(0.37 n), so floats lose every digit from about n = 60.
    A float is a whole number over a power of two, so the sum is formed in whole numbers, exactly,
    and divided once: the last bit is right for every n. At or below x = 1/n the longest gap is
    longer for certain, which keeps those numbers short. n = 200 takes a few milliseconds.
    Source: [davidnagaraja]_, p. 135.

    Examples
    --------
    >>> longest_exceeds(3, 0.5)
    0.75
    """
    exceed, whole = _longest_exactly(gaps, share)
    return exceed / whole


def longest_within(gaps: int, share: float) -> float:
    """Chance that no gap is more than ``share`` of the slack, one less `longest_exceeds` [-].

    Subtracted before rounding, so a chance of 1e-80 still has all its digits.
    """
    exceed, whole = _longest_exactly(gaps, share)
    return (whole - exceed) / whole


def longest_gap_exceeds(gaps: int, gap_mm: float, slack_mm: float) -> float:
    """Chance that somewhere in a row a gap is more than ``gap_mm`` [-].

    Parameters
    ----------
    gaps : int
        Number of gaps in the row: cans plus one.
    gap_mm, slack_mm : float
        The gap asked about and the row's whole slack [mm]; no slack has no gaps.

    Returns
    -------
    float
        The chance for one row at one moment.
    """
    if non_negative("slack_mm", slack_mm) == 0.0:
        return 1.0 if finite("gap_mm", gap_mm) < 0.0 else 0.0
    return longest_exceeds(gaps, finite("gap_mm", gap_mm) / slack_mm)


def longest_quantile(gaps: int, chance: float) -> float:
    """Share of the slack that the longest of n gaps exceeds with a given chance [-].

    Parameters
    ----------
    gaps : int
        Number n of gaps.
    chance : float
        Chance of exceeding, 0..1: 0.001 gives the gap that one row in a thousand has.

    Returns
    -------
    float
        The share, from 1/n for certain to 1 for never; bisected to one part in 10¹².
    """
    n = _count(gaps)
    between("chance", chance, 0.0, 1.0)
    low, high = 1.0 / n, 1.0
    while high - low > 1e-12 * high:
        middle = (low + high) / 2.0
        if longest_exceeds(n, middle) > chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def mean_longest(gaps: int) -> float:
    """Mean share of the longest of n gaps, (1 + 1/2 + … + 1/n) / n [-].

    Examples
    --------
    >>> mean_longest(5)
    0.456667
    """
    return mean_smallest(gaps, _count(gaps))


def mean_smallest(gaps: int, rank: int) -> float:
    """Mean share of the r-th smallest of n gaps, (1/n) Σ 1/(n − i) over i = 0 … r − 1 [-].

    Source: [barton1956]_.
    """
    n = _count(gaps)
    if isinstance(rank, bool) or not isinstance(rank, int) or not 1 <= rank <= n:
        raise InputError("rank", rank, f"a whole number from 1 to {n}")
    return math.fsum(1.0 / (n - i) for i in range(rank)) / n


def compressibility(filled: float) -> float:
    """Push of a row on its guides over that of the same cans if they were points, 1/(1 − η) [-].

    Parameters
    ----------
    filled : float
        Share η of the row's length that cans fill, 0 up to but not 1 [-].

    Returns
    -------
    float
        Z = p L / (N k T) of hard rods on a line, k T standing for how hard they are shaken.
        Source: [tonks1936]_. A row with half the slack pushes twice as hard.
    """
    if not 0.0 <= finite("filled", filled) < 1.0:
        raise InputError("filled", filled, "a share from 0 to below 1")
    return 1.0 / (1.0 - filled)


def _count(gaps: int) -> int:
    if isinstance(gaps, bool) or not isinstance(gaps, int) or not 1 <= gaps <= MAX_GAPS:
        raise InputError("gaps", gaps, f"a whole number from 1 to {MAX_GAPS}")
    return gaps


def _longest_exactly(gaps: int, share: float) -> tuple[int, int]:
    """Chance that the longest gap exceeds the share, as whole numbers over and under the line."""
    n = _count(gaps)
    top, bottom = finite("share", share).as_integer_ratio()
    if n * top < bottom or top <= 0:
        return 1, 1
    if top >= bottom:
        return 0, 1
    total = 0
    choose = 1
    for k in range(1, n + 1):
        rest = bottom - k * top
        if rest <= 0:
            break
        choose = choose * (n - k + 1) // k
        term = choose * rest ** (n - 1)
        total += term if k % 2 else -term
    return total, bottom ** (n - 1)
