"""Edges of rims to a part of a pixel: where brightness changes most along rays from a centre."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats

SMOOTH_PX: Final = 0.7
"""The picture is smoothed by this much before it is read between its pixels [px]."""

_RAY_SMOOTH_PX: Final = 0.9
"""And the slope along a ray by this much [px]."""

_STEP_PX: Final = 0.5
"""Samples along a ray stand this far apart [px]."""


class Edges(NamedTuple):
    """One edge on each ray, arrays of shape (n, m).

    ``part`` is where it is from the inner to the outer end of the ray, 0 to 1; ``slope`` how much
    brightness falls there for a pixel, by the sign asked for; ``seen`` whether there is one.
    """

    part: Floats
    slope: Floats
    seen: Bools


def rays(count: int) -> Floats:
    """Return unit vectors all round, shape (count, 2)."""
    turn = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    return np.column_stack((np.cos(turn), np.sin(turn)))


def row_medians(values: Floats) -> Floats:
    """Return the median of each row, shape (n,), of what in it is not nan: one at least.

    By sorting, which is ten times as fast as the library's own way to leave nan out.
    """
    some = np.sum(~np.isnan(values), axis=1)
    ordered, row = np.sort(values, axis=1), np.arange(len(values))
    return np.asarray((ordered[row, (some - 1) // 2] + ordered[row, some // 2]) / 2.0)


def slopes_along(smooth: Floats, inner_px: Floats, outer_px: Floats) -> tuple[Floats, Floats]:
    """Return the slope of brightness along straight rays.

    Parameters
    ----------
    smooth : ndarray, shape (h, w)
        The picture, smoothed by ``SMOOTH_PX``.
    inner_px, outer_px : ndarray, shape (n, m, 2)
        Ends of the rays [px].

    Returns
    -------
    slopes : ndarray, shape (n, m, k)
        Brightness gained for a pixel outwards; nan where the ray leaves the picture [1/px].
    parts : ndarray, shape (k,)
        Where the samples are, 0 at the inner end and 1 at the outer one.
    """
    from scipy.ndimage import gaussian_filter1d, map_coordinates

    away = outer_px - inner_px
    length = np.hypot(away[..., 0], away[..., 1])
    longest = float(length.max(initial=1.0))
    k = max(9, math.ceil(longest / _STEP_PX) + 1)
    parts = np.linspace(0.0, 1.0, k)
    at = inner_px[..., None, :] + parts[:, None] * away[..., None, :]
    x, y = at[..., 0], at[..., 1]
    read = map_coordinates(
        smooth, (y.ravel(), x.ravel()), order=1, mode="nearest", output=np.float32
    )
    sigma = _RAY_SMOOTH_PX * (k - 1) / max(longest, 1.0)
    slopes = gaussian_filter1d(read.reshape(x.shape), sigma, axis=-1, order=1, mode="nearest")
    slopes = slopes * ((k - 1) / np.maximum(length, 1e-9))[..., None]
    h, w = smooth.shape
    slopes[(x < 1) | (y < 1) | (x > w - 2) | (y > h - 2)] = np.nan
    return slopes, parts


def edges_along(
    smooth: Floats, inner_px: Floats, outer_px: Floats, sign: float, near: float | None = None
) -> Edges:
    """Return the edge of each ray: where brightness changes most in one direction.

    Parameters
    ----------
    smooth, inner_px, outer_px
        As for `slopes_along`.
    sign : float
        1 for edges where it gets darker outwards, -1 where lighter.
    near : float, optional
        Edges count for less the farther they are from this part of the ray.

    Returns
    -------
    Edges
        To a part of a sample, by a parabola through the largest slope and those beside it.
    """
    slopes, parts = slopes_along(smooth, inner_px, outer_px)
    falls = -sign * slopes
    outside = np.isnan(falls).any(axis=-1)
    falls = np.where(np.isnan(falls), 0.0, falls)
    inner_ones = falls[..., 1:-1]
    peaks = (inner_ones >= falls[..., :-2]) & (inner_ones > falls[..., 2:]) & (inner_ones > 0.0)
    weight = 1.0 if near is None else (1.0 - 1.8 * np.abs(parts[1:-1] - near)).clip(0.1)
    top = 1 + np.argmax(np.where(peaks, inner_ones * weight, 0.0), axis=-1)
    before, peak, after = (
        np.take_along_axis(falls, (top + d)[..., None], axis=-1)[..., 0] for d in (-1, 0, 1)
    )
    bend = before - 2.0 * peak + after
    shift = np.where(bend < 0.0, 0.5 * (before - after) / np.where(bend < 0.0, bend, 1.0), 0.0)
    part = (top + np.clip(shift, -0.5, 0.5)) / (len(parts) - 1)
    return Edges(part, peak, np.asarray(peaks.any(axis=-1) & ~outside))
