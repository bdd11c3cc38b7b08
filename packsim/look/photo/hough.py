"""Circles in a picture, and how much of each lies on edges.

Why OpenCV: on one core its `HoughCircles` found 126 of 126 rims in 0.02 s (1.4 megapixel, rendered)
and 462 of 462 in 0.08 s (4.3 megapixel); `hough_circle` of scikit-image 0.26 found 115 in 1.0 s and
417 in 4.1 s on the same pictures, which leaves no room for trying sizes and shapes. Centres were
within 1.8 to 2.0 px and 1.4 to 1.5 px: both are only where `packsim.look.photo.edges` begins.
OpenCV has one wheel for every Python from 3.7 (61 MB), scikit-image one for each (14 MB, and four
packages more); for Python 3.15 it has a candidate only.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from packsim.arrays import Floats

_ROUNDS: Final = 48
"""Points of a rim that are looked at."""


class Shown(NamedTuple):
    """A picture as `HoughCircles` wants it, and the slope from which on a pixel is an edge."""

    eight: Any
    strong: float


def circles_in(shown: Shown, least_px: float, most_px: float, apart: float = 1.5) -> Floats:
    """Return circles of these radii, shape (n, 3): x, y and radius [px]; `apart` in radii."""
    import cv2

    found = cv2.HoughCircles(
        shown.eight,
        cv2.HOUGH_GRADIENT,
        1.5,
        apart * least_px,
        param1=shown.strong,
        param2=max(8.0, 0.55 * least_px),
        minRadius=max(3, math.floor(least_px)),
        maxRadius=math.ceil(most_px),
    )
    return np.empty((0, 3)) if found is None else np.asarray(found[0][:, :3], dtype=np.float64)


def shown_of(grey: Floats) -> Shown:
    """Make it one of 256 shades and find its edges, one pixel in eight."""
    import cv2

    low, high = np.percentile(grey, (1.0, 99.0))
    eight = np.clip(255.0 * (grey - low) / max(high - low, 1e-6), 0, 255).astype(np.uint8)
    slope = np.abs(cv2.Sobel(eight, cv2.CV_32F, 1, 0)) + np.abs(cv2.Sobel(eight, cv2.CV_32F, 0, 1))
    return Shown(eight, float(max(20.0, np.percentile(slope, 88.0))))


def slopes_of(grey: Floats) -> tuple[Floats, Floats, float]:
    """Return the slopes of brightness along x and y, and what one in four is steeper than."""
    import cv2

    gx, gy = cv2.Sobel(grey, -1, 1, 0), cv2.Sobel(grey, -1, 0, 1)
    return gx, gy, float(np.percentile(np.hypot(gx, gy), 75.0))


def support_of(slopes: tuple[Floats, Floats, float], circles: Floats) -> Floats:
    """Return the share of each circle's rim, to 6 % of its radius, with a slope across it."""
    gx, gy, strong = slopes
    turn = np.linspace(0.0, 2.0 * math.pi, _ROUNDS, endpoint=False)
    cos, sin = np.cos(turn), np.sin(turn)
    on = np.zeros((len(circles), _ROUNDS), dtype=np.bool_)
    h, w = gx.shape
    for grown in (0.94, 1.0, 1.06):
        x = np.rint(circles[:, :1] + grown * circles[:, 2:] * cos).astype(np.int64)
        y = np.rint(circles[:, 1:2] + grown * circles[:, 2:] * sin).astype(np.int64)
        inside = (x >= 0) & (y >= 0) & (x < w) & (y < h)
        x, y = np.clip(x, 0, w - 1), np.clip(y, 0, h - 1)
        sx, sy = gx[y, x], gy[y, x]
        size = np.hypot(sx, sy)
        on |= inside & (size > strong) & (np.abs(sx * cos + sy * sin) > 0.9 * size)
    return np.asarray(on.mean(axis=1))
