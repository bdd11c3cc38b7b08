"""How sure a count of rare events is."""

import math

from packsim.errors import between, whole


def poisson_interval(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact two-sided interval for the mean of a Poisson count.

    Parameters
    ----------
    count : int
        Events seen, 0 or more.
    confidence : float
        Between 0 and 1 [-].

    Returns
    -------
    low, high : float
        χ²(a/2; 2n)/2 and χ²(1 − a/2; 2n + 2)/2 with a = 1 − confidence; low is 0 for no event.

    Notes
    -----
    [garwood1936]_. It holds the mean at least as often as it says.

    Examples
    --------
    >>> [round(end, 3) for end in poisson_interval(0)]
    [0.0, 3.689]
    """
    from scipy.special import gammaincinv  # heavy to import, needed here alone

    whole("count", count, 0, 2**53, "a whole number of 0 or more")
    between("confidence", confidence, 1e-9, 1.0 - 1e-9)
    tail = (1.0 - confidence) / 2.0
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1.0, 1.0 - tail))


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
