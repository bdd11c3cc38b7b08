"""Profile bounds of a sum of chances, each with a likelihood of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats

_POINTS: Final = 41
"""Points a confidence distribution is spread over."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One term of the sum against its unknown.

    Parameters
    ----------
    chance : ndarray, shape (m,)
        The term, rising with its unknown [-].
    deviance : ndarray, shape (m,)
        Twice what the log-likelihood is below its greatest value [-].
    best : float
        The term at the greatest likelihood [-]; 0 where nothing tipped.
    centre : int
        Where in the arrays that is.
    """

    chance: Floats
    deviance: Floats
    best: float
    centre: int


def bounds(parts: Sequence[Part], confidence: float) -> tuple[float, float]:
    """Return the least and the greatest sum whose deviances together stay within χ²₁.

    Parameters
    ----------
    parts : sequence of Part
        Independent terms.
    confidence : float
        Of the interval [-].

    Returns
    -------
    low, high : float
        Ends of the profile interval of the sum [-]; 0, 0 for no terms.
    """
    from scipy.special import chdtri

    level = float(chdtri(1, 1.0 - confidence))
    return _extreme(parts, level, -1.0), _extreme(parts, level, 1.0)


def confidence_points(parts: Sequence[Part]) -> Floats:
    """Return 41 equally likely values of the sum, rising, by its profile intervals.

    They lie where the signed root of the deviance is the middle of one of 41 equal slices of a
    standard normal distribution.
    """
    from scipy.special import ndtri

    roots = ndtri((np.arange(_POINTS) + 0.5) / _POINTS)
    return np.array([_extreme(parts, float(r) ** 2, 1.0 if r > 0.0 else -1.0) for r in roots])


def _extreme(parts: Sequence[Part], level: float, sign: float) -> float:
    """Greatest (sign +1) or least (−1) sum with Σ deviance <= level, by a Lagrange multiplier.

    At the extreme every term is worth the same per unit of deviance: with a price on deviance
    each term picks its own best point, and the price is bisected until the budget is spent.
    """
    if not parts:
        return 0.0
    sides = [_side(part, sign) for part in parts]
    if len(sides) == 1:
        chance, spent = sides[0]
        return float(np.interp(level, spent, chance))
    low, high = -60.0, 60.0
    for _ in range(45):
        middle = (low + high) / 2.0
        if _at_price(sides, middle, sign)[1] > level:
            low = middle
        else:
            high = middle
    below, above = _at_price(sides, high, sign), _at_price(sides, low, sign)
    if above[1] <= below[1]:
        return below[0]
    share = min(1.0, (level - below[1]) / (above[1] - below[1]))
    return below[0] + share * (above[0] - below[0])


def _side(part: Part, sign: float) -> tuple[Floats, Floats]:
    """Points from the best outwards, deviance rising."""
    if sign > 0.0:
        chance, spent = part.chance[part.centre :], part.deviance[part.centre :]
    else:
        chance, spent = part.chance[part.centre :: -1], part.deviance[part.centre :: -1]
    return np.append(part.best, chance[1:]), np.maximum.accumulate(np.append(0.0, spent[1:]))


def _at_price(
    sides: Sequence[tuple[Floats, Floats]], log_price: float, sign: float
) -> tuple[float, float]:
    price, total, spent = np.exp(log_price), 0.0, 0.0
    for chance, deviance in sides:
        at = int(np.argmax(sign * chance - price * deviance))
        total += float(chance[at])
        spent += float(deviance[at])
    return total, spent
