"""What a spray leaves on a pack that has moved past it: only the place across the mat counts."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.check import positive
from packsim.spray.jets import Footprint

_NODES = 48  # sine-mapped Gauss: 1e-6 where two arcs nearly end together, rounding elsewhere


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
    ellipse gives the half-circle law 2√(a² − y²)/(πa²), a its half extent across.
    """
    y = np.asarray(across_mm, dtype=np.float64)
    half = patch.half_across_mm
    chord = np.sqrt(np.maximum(half**2 - y**2, 0.0))
    return np.asarray(2.0 * chord / (math.pi * half**2))


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
    Gauss nodes in the sine of the place.
    """
    y = np.asarray(line_mm, dtype=np.float64)
    radius = positive("radius_mm", radius_mm)
    reach = patch.half_across_mm
    low = np.maximum(-radius, -y - reach)
    high = np.minimum(radius, -y + reach)
    middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.0)
    angle, weight = _sine_nodes()
    u = middle[..., None] + half[..., None] * np.sin(angle)
    here = np.maximum(radius**2 - u**2, 0.0)
    there = np.maximum(reach**2 - (y[..., None] + u) ** 2, 0.0)
    each = np.sum(weight * 4.0 * np.sqrt(here * there), axis=-1) * half / (math.pi * reach**2)
    return np.asarray(np.maximum(each, 0.0))


def _sine_nodes() -> tuple[Floats, Floats]:
    """Nodes θ and weights cos θ dθ of ∫ f(sin θ) cos θ dθ over a half turn."""
    node, weight = np.polynomial.legendre.leggauss(_NODES)
    angle = node * math.pi / 2.0
    return angle, weight * np.cos(angle) * math.pi / 2.0
