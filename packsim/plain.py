"""A number on its way into plain data: JSON knows neither NaN nor infinity."""

from __future__ import annotations

import math

__all__ = ["number"]


def number(value: float | None) -> float | None:
    """Return a finite number as it is, anything else as None.

    Examples
    --------
    >>> number(1.5), number(math.inf), number(None)
    (1.5, None, None)
    """
    return None if value is None or not math.isfinite(value) else float(value)
