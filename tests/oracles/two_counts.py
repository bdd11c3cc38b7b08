"""The exact conditional test of two Poisson counts, for one pair of counts."""

from packsim.errors import count, positive


def two_count_p(
    first: int, second: int, cans_first: float = 1.0, cans_second: float = 1.0
) -> float:
    """Return the exact two-sided p-value that two counts have one rate.

    Parameters
    ----------
    first, second : int
        Tips at each setting.
    cans_first, cans_second : float
        Cans passed at each.

    Returns
    -------
    float
        Twice the smaller tail of the binomial, 1 at most [-].

    Examples
    --------
    >>> two_count_p(0, 3)
    0.25
    """
    from scipy.stats import binom

    total = count("first", first) + count("second", second)
    share = positive("cans_first", cans_first)
    share /= share + positive("cans_second", cans_second)
    low, high = binom.cdf(first, total, share), binom.sf(first - 1, total, share)
    return min(1.0, 2.0 * float(min(low, high)))
