"""Rates, counts and intervals as people write them."""

from __future__ import annotations

import math

__all__ = ["count_text", "interval_text", "money_text", "rate_text"]

NONE = 0.005
"""Rates and counts below this are shown as less than a hundredth."""


def rate_text(per_million: float) -> str:
    """Format a rate per million with the digits that mean something.

    Examples
    --------
    >>> [rate_text(x) for x in (0.0, 0.0001, 0.213, 6.64, 1234.5)]
    ['0', '<0.01', '0.21', '6.6', '1,230']
    """
    if per_million == 0.0:
        return "0"
    if per_million < NONE:
        return "<0.01"
    if not math.isfinite(per_million):
        return "no limit"
    if per_million < 1.0:
        return f"{per_million:.2f}"
    if per_million < 10.0:
        return f"{per_million:.1f}"
    digits = max(0, math.floor(math.log10(per_million)) - 2)
    return f"{round(per_million, -digits):,.0f}"


def interval_text(low: float, high: float) -> str:
    """Format both ends of an interval of rates.

    Examples
    --------
    >>> interval_text(4.8, 8.93), interval_text(0.0, 0.001)
    ('4.8 – 8.9', '0 – <0.01')
    """
    return f"{rate_text(low)} – {rate_text(high)}"


def count_text(cans: float) -> str:
    """Format an expected count of cans.

    Examples
    --------
    >>> count_text(0.0), count_text(70.06), count_text(3.2e6)
    ('0', '70', '3,200,000')
    """
    return rate_text(cans) if cans < 1e4 else f"{float(f'{cans:.3g}'):,.0f}"


def money_text(amount: float) -> str:
    """Format an amount in the user's own currency.

    Examples
    --------
    >>> money_text(12345.6), money_text(3.456), money_text(0.0)
    ('12,300', '3.46', '0')
    """
    if amount == 0.0 or not math.isfinite(amount):
        return "0" if amount == 0.0 else "never"
    rounded = float(f"{amount:.3g}")
    return f"{rounded:,.0f}" if abs(rounded) >= 100.0 else f"{rounded:.2f}"
