"""What a count says about the rate behind it, exactly."""

from __future__ import annotations

from packsim.check import between
from packsim.errors import InputError

__all__ = ["clopper_pearson", "zero_count_limit"]


def clopper_pearson(count: int, of: int, confidence: float = 0.95) -> tuple[float, float]:
    """Return the exact two-sided interval for a share.

    Parameters
    ----------
    count, of : int
        Hits, and how many there could have been.
    confidence : float
        Chance that such intervals cover the share, at least [-].

    Returns
    -------
    low, high : float
        Beta quantiles; 0 and 1 where every trial went one way.

    Notes
    -----
    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404.

    Examples
    --------
    >>> clopper_pearson(7, 50)
    (0.0582, 0.2674)
    """
    from scipy.special import betaincinv

    tail = _tail(_count("count", count), confidence)
    if _count("of", of) < max(1, count):
        raise InputError("of", of, f"a whole number of at least {max(1, count)}")
    low = 0.0 if count == 0 else float(betaincinv(count, of - count + 1, tail))
    high = 1.0 if count == of else float(betaincinv(count + 1, of - count, 1.0 - tail))
    return low, high


def zero_count_limit(confidence: float = 0.95) -> float:
    """Mean that would give at least one event with this chance, −ln(1 − confidence).

    The one-sided upper limit when nothing was seen: 2.996 at 95 %, the "rule of three".

    Examples
    --------
    >>> zero_count_limit()
    2.996
    """
    from math import log

    return -log(2.0 * _tail(0, confidence))


def _tail(count: int, confidence: float) -> float:
    between("confidence", confidence, 0.5, 0.999999)
    return (1.0 - confidence) / 2.0


def _count(key: str, count: int) -> int:
    if isinstance(count, bool) or not isinstance(count, int) or count < 0:
        raise InputError(key, count, "a whole number of 0 or more")
    return count
