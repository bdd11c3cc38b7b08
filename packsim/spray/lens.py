"""Where two circles overlap: the area of the lens, its centroid, and the distance that gives it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Lens:
    """The overlap of two discs.

    Parameters
    ----------
    area_mm2 : ndarray
        Area of the overlap [mm²].
    moment_mm3 : ndarray
        First moment of that area about the first centre, along the line to the second [mm³].
    """

    area_mm2: Floats
    moment_mm3: Floats


def lens(first_radius_mm: ArrayLike, second_radius_mm: ArrayLike, distance_mm: ArrayLike) -> Lens:
    """Overlap of two discs, exact in every case: apart, crossing, one inside the other.

    Parameters
    ----------
    first_radius_mm, second_radius_mm : array_like
        Radii r and s, 0 or more; all arguments broadcast [mm].
    distance_mm : array_like
        Distance d of the centres, 0 or more [mm].

    Returns
    -------
    Lens
        Area and first moment, of the broadcast shape.

    Raises
    ------
    InputError
        If a value is negative or not a number.

    Notes
    -----
    The common chord lies at x = (d² + r² − s²)/(2d) from the first centre and has half length c;
    each disc gives the segment beyond it, r²θ − x c with θ = atan2(c, x). Source: any geometry
    text, e.g. [weissteinCircles]_. The moment is derived here: a segment has
    first moment 2c³/3 about its own centre, the two have opposite signs and cancel, and what
    remains about the first centre is d times the second disc's segment.

    Examples
    --------
    >>> float(lens(1.0, 1.0, 1.0).area_mm2)
    1.22837
    """
    r, s, d = _checked(first_radius_mm, second_radius_mm, distance_mm)
    crossing = (d < r + s) & (d > np.abs(r - s))
    gap = np.where(crossing, d, 1.0)
    chord_at = (gap**2 + (r - s) * (r + s)) / (2.0 * gap)
    product = (r + s - gap) * (gap + r - s) * (gap - r + s) * (r + s + gap)
    half = np.sqrt(np.maximum(product, 0.0)) / (2.0 * gap)
    first = r**2 * np.arctan2(half, chord_at) - chord_at * half
    second = s**2 * np.arctan2(half, gap - chord_at) - (gap - chord_at) * half
    inside = ~crossing & (d <= np.abs(r - s))
    first = np.where(crossing, first, np.where(inside & (r < s), np.pi * r**2, 0.0))
    second = np.where(crossing, second, np.where(inside & (r >= s), np.pi * s**2, 0.0))
    return Lens(np.asarray(first + second), np.asarray(d * second))


def _checked(*values: ArrayLike) -> tuple[Floats, Floats, Floats]:
    r, s, d = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in values))
    if not (np.all(r >= 0.0) and np.all(s >= 0.0) and np.all(d >= 0.0)):
        raise InputError("lens", values, "radii and a distance of 0 or more")
    return r, s, d
