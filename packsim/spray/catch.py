"""How much of one jet a round can catches at one moment, and where on it."""

import math
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError, positive
from packsim.spray.jets import Footprint


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


NODES = 48
"""Gauss nodes across a fan's thin side; the error falls with their square (measured in tests)."""


@cache
def sine_nodes(count: int) -> tuple[Floats, Floats]:
    """Return nodes θ and weights cos θ dθ of ∫ f(sin θ) cos θ dθ over a half turn."""
    node, weight = legendre.leggauss(count)
    angle = node * math.pi / 2.0
    return angle, weight * np.cos(angle) * math.pi / 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Caught:
    """The part of a nozzle's flow that lands on a disc.

    Parameters
    ----------
    share : ndarray
        Share of the flow, 0 to 1 [-].
    along_mm, across_mm : ndarray
        First moment of that share about the nozzle: share times mean place [mm].
    """

    share: Floats
    along_mm: Floats
    across_mm: Floats


def caught(patch: Footprint, along_mm: ArrayLike, across_mm: ArrayLike, radius_mm: float) -> Caught:
    """Share of a nozzle's flow that lands on a disc, with its first moment.

    Parameters
    ----------
    patch : Footprint
        The footprint, on the plane of the disc.
    along_mm, across_mm : array_like
        Centre of the disc from the nozzle; broadcast together [mm].
    radius_mm : float
        Radius of the disc [mm].

    Returns
    -------
    Caught
        Of the broadcast shape.

    Notes
    -----
    A cone is an even disc, an exact lens. A fan is integrated across its thin side:
    on each line parallel to its long side the overlap of two chords and its middle are exact.
    """
    x = np.asarray(along_mm, dtype=np.float64)
    y = np.asarray(across_mm, dtype=np.float64)
    x, y = np.broadcast_arrays(x, y)
    radius = positive("radius_mm", radius_mm)
    if patch.shape != "disc":
        return _by_chords(patch, x, y, radius)
    got = [(share, _by_lens(part, x, y, radius)) for share, part in patch.parts]
    return Caught(
        np.clip(sum(share * one.share for share, one in got), 0.0, 1.0),
        np.asarray(sum(share * one.along_mm for share, one in got)),
        np.asarray(sum(share * one.across_mm for share, one in got)),
    )


@lru_cache(maxsize=512)
def axial_share(patch: Footprint) -> float:
    """Mean cosine of the rays to the nozzle's axis, 1 for a jet that does not spread [-].

    Parameters
    ----------
    patch : Footprint
        The footprint.

    Returns
    -------
    float
        Share of the thrust that acts along the axis [-]. For an even disc
        2h(√(h² + a²) − h)/a², h the stand-off; a fan by product Gauss nodes.
    """
    height = patch.stand_off_mm
    if len(patch.layers) > 1:
        return sum(share * axial_share(part) for share, part in patch.parts)
    if patch.shape == "disc":
        return 2.0 * height / (math.hypot(height, patch.half_long_mm) + height)
    angle, weights = sine_nodes(NODES)
    thin = np.sin(angle)
    reach = np.sqrt(1.0 - thin**2)
    long = reach[:, None] * np.sin(angle)
    both = weights[:, None] * weights * reach[:, None]
    across = np.hypot(patch.half_thin_mm * thin[:, None], patch.half_long_mm * long)
    return float(np.sum(both * height / np.hypot(height, across)) / np.sum(both))


def _by_lens(patch: Footprint, x: Floats, y: Floats, radius: float) -> Caught:
    distance = np.hypot(x, y)
    each = lens(patch.half_long_mm, radius, distance)
    scale = 1.0 / (math.pi * patch.half_long_mm**2)
    share, moment = each.area_mm2 * scale, each.moment_mm3 * scale
    pull = np.divide(moment, distance, out=np.zeros_like(distance), where=distance > 0.0)
    return Caught(np.clip(share, 0.0, 1.0), pull * x, pull * y)


def _by_chords(patch: Footprint, x: Floats, y: Floats, radius: float) -> Caught:
    sin, cos = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
    long, thin = x * sin + y * cos, x * cos - y * sin
    share, on_long, on_thin = caught_of_fan(patch, long, thin, radius)
    return Caught(share, on_long * sin + on_thin * cos, on_long * cos - on_thin * sin)


def caught_of_fan(patch: Footprint, long_mm: Floats, thin_mm: Floats, radius_mm: float) -> Floats:
    """Share of a fan's flow that lands on a disc, and its moments along the fan's two sides.

    Parameters
    ----------
    patch : Footprint
        The footprint of a fan.
    long_mm, thin_mm : ndarray
        Centre of the disc from the nozzle along its long and its thin side; broadcast [mm].
    radius_mm : float
        Radius of the disc [mm].

    Returns
    -------
    ndarray, shape (3, ...)
        Share [-], and its first moments about the nozzle along both sides [mm].
    """
    if len(patch.layers) > 1:
        each = (s * caught_of_fan(p, long_mm, thin_mm, radius_mm) for s, p in patch.parts)
        return np.asarray(sum(each))
    long, thin = long_mm[..., None], thin_mm[..., None]
    low = np.maximum(-patch.half_thin_mm, thin - radius_mm)
    high = np.minimum(patch.half_thin_mm, thin + radius_mm)
    half = np.maximum((high - low) / 2.0, 0.0)
    angle, weights = sine_nodes(NODES)
    at = (low + high) / 2.0 + half * np.sin(angle)
    reach = patch.half_long_mm * np.sqrt(np.maximum(1.0 - (at / patch.half_thin_mm) ** 2, 0.0))
    chord = np.sqrt(np.maximum(radius_mm**2 - (at - thin) ** 2, 0.0))
    start, end = np.maximum(-reach, long - chord), np.minimum(reach, long + chord)
    piece = np.maximum(end - start, 0.0) * (weights * half)
    area = math.pi * patch.half_long_mm * patch.half_thin_mm
    start += end
    return np.stack(
        [
            np.clip(np.sum(piece, axis=-1) / area, 0.0, 1.0),
            np.einsum("...k,...k->...", piece, start) / (2.0 * area),
            np.einsum("...k,...k->...", piece, at) / area,
        ]
    )
