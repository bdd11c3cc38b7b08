"""What a spray leaves on a pack that has moved past it: only the place across the mat counts."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.check import positive
from packsim.spray.footprint import Footprint

_NODES = 48  # sine-mapped Gauss: 1e-6 where two arcs nearly end together, rounding elsewhere
_BEVEL = 1e-6  # least slope of a straight edge as a share of its box; its effect is the square


def across_density_per_mm(patch: Footprint, across_mm: ArrayLike) -> Floats:
    """Share of the flow per millimetre across the mat, all along travel taken together.

    Parameters
    ----------
    patch : Footprint
        The footprint.
    across_mm : array_like
        Place across the mat from the nozzle [mm].

    Returns
    -------
    ndarray
        Density, integrating to 1 [1/mm].

    Notes
    -----
    What a point of the moving pack receives in a pass depends on this alone. An even disc or
    ellipse gives the half-circle law 2√(a² − y²)/(πa²), a its half extent across; a rectangle
    the trapezoid of two boxes.
    """
    y = np.asarray(across_mm, dtype=np.float64)
    if patch.shape == "rectangle":
        flat, slope = _trapezoid(patch)
        ramp = (np.clip(y + flat, -slope, slope) - np.clip(y - flat, -slope, slope)) / (2.0 * slope)
        return np.asarray(ramp / (2.0 * flat))
    radii, shares = _layers(patch)
    chord = np.sqrt(np.maximum(radii**2 - y[..., None] ** 2, 0.0))
    return np.asarray(np.sum(shares * 2.0 * chord / (math.pi * radii**2), axis=-1))


def band_mm(patch: Footprint, line_mm: ArrayLike, radius_mm: float) -> Floats:
    """Measure what a disc catches in one pass as a length: volume = flow / mat speed x band.

    Parameters
    ----------
    patch : Footprint
        The footprint.
    line_mm : array_like
        Line of the disc's centre from the nozzle, across the mat [mm].
    radius_mm : float
        Radius R of the disc: the can top, or its mouth [mm].

    Returns
    -------
    ndarray
        ∫ 2√(R² − u²) λ(y + u) du over −R..R, λ the across density [mm]. Never above 2R.

    Notes
    -----
    Derived here: the flow into the disc integrated along travel is the flow density integrated
    over the disc after travel has been integrated out, so the exact circle-circle overlap need
    not be summed along the way; it gives the same number. The two half circles are integrated by
    Gauss nodes in the sine of the place, a rectangle by its closed second integral.
    """
    y = np.asarray(line_mm, dtype=np.float64)
    radius = positive("radius_mm", radius_mm)
    if patch.shape == "rectangle":
        flat, slope = _trapezoid(patch)
        ends = [(flat + slope, 1.0), (flat - slope, -1.0), (slope - flat, -1.0)]
        total = sum(sign * _ramp(y + at, radius) for at, sign in [*ends, (-flat - slope, 1.0)])
        return np.asarray(np.maximum(total / (4.0 * flat * slope), 0.0))
    radii, shares = _layers(patch)
    low = np.maximum(-radius, -y[..., None] - radii)
    high = np.minimum(radius, -y[..., None] + radii)
    middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.0)
    angle, weight = _sine_nodes()
    u = middle[..., None] + half[..., None] * np.sin(angle)
    here = np.maximum(radius**2 - u**2, 0.0)
    there = np.maximum(radii[:, None] ** 2 - (y[..., None, None] + u) ** 2, 0.0)
    each = np.sum(weight * 4.0 * np.sqrt(here * there), axis=-1) * half / (math.pi * radii**2)
    return np.asarray(np.maximum(np.sum(shares * each, axis=-1), 0.0))


def _layers(patch: Footprint) -> tuple[Floats, Floats]:
    """Even discs of the same across density: an ellipse counts as one of its half extent."""
    if patch.shape == "ellipse":
        return np.array([patch.half_across_mm]), np.array([1.0])
    return patch.layers


def _trapezoid(patch: Footprint) -> tuple[float, float]:
    """Wider and narrower half width of the two boxes a rectangle's across density is made of."""
    long = patch.half_long_mm * abs(math.cos(patch.twist_rad))
    thin = patch.half_thin_mm * abs(math.sin(patch.twist_rad))
    flat = max(long, thin)
    return flat, max(min(long, thin), _BEVEL * flat)


def _ramp(at: Floats, radius: float) -> Floats:
    """∫ 2√(R² − u²) max(0, at + u) du over the disc, closed form."""
    t = np.clip(at, -radius, radius)
    root = np.sqrt(np.maximum(radius**2 - t**2, 0.0))
    area = t * root + radius**2 * (np.arcsin(t / radius) + math.pi / 2.0)
    beyond = np.maximum(at - radius, 0.0) * math.pi * radius**2
    return np.asarray(t * area + 2.0 / 3.0 * root**3 + beyond)


def _sine_nodes() -> tuple[Floats, Floats]:
    """Nodes θ and weights cos θ dθ of ∫ f(sin θ) cos θ dθ over a half turn."""
    node, weight = np.polynomial.legendre.leggauss(_NODES)
    angle = node * math.pi / 2.0
    return angle, weight * np.cos(angle) * math.pi / 2.0
