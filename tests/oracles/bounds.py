"""How many cans a strip or an area can hold at most, from published mathematics."""

from __future__ import annotations

import math

from packsim.constants import CONTACT_TOL_REL, SIN60
from packsim.errors import at_least, non_negative, positive

__all__ = [
    "groemer_hull_mm2",
    "most_cans_per_metre",
    "oler_count",
    "strip_cans_per_metre",
]


def strip_cans_per_metre(clear_width_mm: float, diameter_mm: float) -> float:
    """Return the cans per metre of the densest strip pack known [1/m].

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    float
        (n + 1)(n + 2) / (n + 2 √(1 − h²)) per diameter, with w = W/D − 1, n = ⌊w / (√3/2)⌋ and
        h = w − n √3/2. It is what the state ``blocks`` holds, the zigzag for n = 0, and the
        perfect pack for h = 0.

    Notes
    -----
    Trivial for w < √3/2. [furedi1991]_ proves it densest up to w = √3; [molnar1978]_ conjectures
    it beyond.

    Examples
    --------
    >>> round(strip_cans_per_metre(2000.0, 1000.0), 6)
    2.012093
    """
    w = _centre_width(clear_width_mm, diameter_mm)
    n = math.floor((w + CONTACT_TOL_REL) / SIN60)
    h = max(0.0, w - n * SIN60)
    per_diameter = (n + 1) * (n + 2) / (n + 2.0 * math.sqrt(1.0 - h * h))
    return 1000.0 * per_diameter / diameter_mm


def most_cans_per_metre(clear_width_mm: float, diameter_mm: float) -> float:
    """Return a number of cans per metre that no pack exceeds [1/m].

    Parameters
    ----------
    clear_width_mm, diameter_mm : float
        Guide face to guide face, at least a diameter, and the can diameter [mm].

    Returns
    -------
    float
        2 w/√3 + 1 per diameter, w = W/D − 1: `oler_count` for a long strip. Reached when W fits a
        whole number of lanes exactly.
    """
    w = _centre_width(clear_width_mm, diameter_mm)
    return 1000.0 * (w / SIN60 + 1.0) / diameter_mm


def oler_count(area_mm2: float, perimeter_mm: float, diameter_mm: float) -> float:
    """Return the most cans whose centres fit in a convex region [-].

    Parameters
    ----------
    area_mm2, perimeter_mm : float
        Of the region the centres may take, half a diameter inside the guides [mm², mm].
    diameter_mm : float
        Can diameter [mm].

    Returns
    -------
    float
        2 A/(√3 D²) + P/(2 D) + 1. Source: [oler1961]_; [groemer1960]_ (both from memory).

    Examples
    --------
    A hexagon of side 2 D holds 19, the hexagonal lattice points in it:

    >>> round(oler_count(6 * 3**0.5, 12.0, 1.0), 9)
    19.0
    """
    d = positive("diameter_mm", diameter_mm)
    area, around = non_negative("area_mm2", area_mm2), non_negative("perimeter_mm", perimeter_mm)
    return area / (SIN60 * d * d) + around / (2.0 * d) + 1.0


def groemer_hull_mm2(count: int, perimeter_mm: float, diameter_mm: float) -> float:
    """Return the least area of the convex hull of cans, for a given perimeter of it [mm²].

    Parameters
    ----------
    count : int
        Number of cans, 1 or more.
    perimeter_mm : float
        Perimeter of the hull around the discs, not only their centres [mm].
    diameter_mm : float
        Can diameter [mm].

    Returns
    -------
    float
        2√3 (n − 1) R² + p (1 − √3/2) R + π (√3 − 1) R². Reached by hexagonal packs only.
        Source: [groemer1960]_; [weissteinGroemer]_.
    """
    at_least("count", count, 1)
    radius = positive("diameter_mm", diameter_mm) / 2.0
    around = positive("perimeter_mm", perimeter_mm)
    root3 = 2.0 * SIN60
    square = 2.0 * root3 * (count - 1) + math.pi * (root3 - 1.0)
    return square * radius**2 + around * (1.0 - SIN60) * radius


def _centre_width(clear_width_mm: float, diameter_mm: float) -> float:
    """Width the centres may take, in diameters."""
    positive("diameter_mm", diameter_mm)
    return at_least("clear_width_mm", clear_width_mm, diameter_mm, "mm") / diameter_mm - 1.0
