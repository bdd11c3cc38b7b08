"""A number read from a photograph, and how well it is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.errors import finite, non_negative

TWO_SIDED: Final = 1.96
"""Standard deviations either way that hold 95 % of a normal error."""


@dataclass(frozen=True, slots=True)
class Known:
    """A number and its error.

    Parameters
    ----------
    value : float
        The number, in the unit of the field that holds it.
    within : float
        Half of its 95 % interval, in the same unit; what a scenario writes behind ±.

    Examples
    --------
    >>> Known(1391.0, 0.8).holds(1391.7), Known(1391.0, 0.8).holds(1392.0)
    (True, False)
    """

    value: float
    within: float

    def __post_init__(self) -> None:
        finite("value", self.value)
        non_negative("within", self.within)

    def holds(self, value: float) -> bool:
        """Return whether a value lies inside the interval."""
        return abs(value - self.value) <= self.within

    def less(self, value: float, within: float = 0.0) -> Known:
        """Return the difference to another number that is as well known, independent of this."""
        return Known(self.value - value, math.hypot(self.within, within))


def known(value: float, *errors: float) -> Known:
    """Return a number whose independent errors are given as standard deviations.

    Examples
    --------
    >>> known(10.0, 3.0, 4.0)
    Known(value=10.0, within=9.8)
    """
    return Known(float(value), TWO_SIDED * math.hypot(*errors))


def mean_of_parts(parts: Sequence[float], *errors: float) -> Known:
    """Return the mean of what parts of a picture say, for the pack that goes on beyond it.

    Parameters
    ----------
    parts : sequence of float
        One value for each part, two or more.
    *errors : float
        Errors they share, standard deviations.

    Returns
    -------
    Known
        With their scatter by Student's t ([jcgm2008]_, 4.2 and G.3).
    """
    from scipy.special import stdtrit

    each = np.asarray(parts, dtype=np.float64)
    count = each.size
    scatter = float(stdtrit(count - 1, 0.975)) * float(each.std(ddof=1)) / math.sqrt(count)
    return Known(float(each.mean()), math.hypot(scatter, TWO_SIDED * math.hypot(0.0, *errors)))
