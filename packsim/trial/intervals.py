"""What a count says about the rate behind it, exactly."""

from __future__ import annotations

from packsim.check import between

__all__ = ["zero_count_limit"]


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
