"""What a camera can see of a plane: one number less than the six of a view.

Derived here. A camera with square pixels that looks along the middle of the picture, with a focal
length f in units of half the diagonal, sees a plane with

    AᵀA = s² (I + f² l lᵀ),   A = [[a, b], [0, c]],   l = (p, q),

in the numbers of `packsim.look.photo.rectify`: rims are flattened along the way in which sizes
fall, and tan θ = f |l|. So of the flattening (AᵀA)/s² - I, a vector of two numbers when each
direction is turned to twice its angle, what is aside of l is an error, and so is what no focal
length makes. Where the camera looks along a line d aside of the middle, 2 |l| d is aside of l.
"""

from __future__ import annotations

import math
from typing import Final

from packsim.arrays import Floats

_MIDDLE: Final = 0.01
"""How far off the middle of the picture a camera looks, as a share of half the diagonal: steadied
lenses and small cuts (common practice, no source)."""

_LEAST: Final = 0.003
"""Least error of a flattening."""

_FOCAL: Final = (0.43, 2.9)
"""Focal lengths of cameras in longer sides of the picture, as `View.eye_mm` takes them."""

_CROPPED: Final = 3.0
"""Pictures of which much was cut away are off by more errors than that: then it counts for little
more how many."""


def no_camera(numbers: Floats, size_px: tuple[int, int]) -> float:
    """Return how unlikely a view is as what a camera sees: a log likelihood, negative."""
    a, b, c, p, q, _ = (float(one) for one in numbers)
    one, both, two = a * a, a * b, b * b + c * c
    middle, half = (one + two) / 2.0, math.hypot((one - two) / 2.0, both)
    least = max(middle - half, 1e-9 * middle)
    flat = (one - two) / least, 2.0 * both / least
    fall = p * p - q * q, 2.0 * p * q
    square = fall[0] ** 2 + fall[1] ** 2
    longer = max(size_px) / (math.hypot(*size_px) / 2.0)
    low, high = ((longer * one) ** 2 for one in _FOCAL)
    focal2 = (flat[0] * fall[0] + flat[1] * fall[1]) / max(square, 1e-30)
    focal2 = min(max(focal2, low), high)
    off2 = sum((x - focal2 * y) ** 2 for x, y in zip(flat, fall, strict=True))
    error2 = _LEAST**2 + (2.0 * _MIDDLE) ** 2 * math.sqrt(square)
    return 0.5 * _CROPPED**2 * math.log1p(off2 / error2 / _CROPPED**2)
