"""Edges of rims to a part of a pixel: where brightness changes most along rays from a centre."""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats

SMOOTH_PX: Final = 0.7
"""The picture is smoothed by this much before it is read between its pixels [px]."""

_RAY_SMOOTH_PX: Final = 0.9
"""And the slope along a ray by this much [px]."""

_STEP_PX: Final = 0.5
"""Samples along a ray stand this far apart [px]."""

FAINT: Final = 0.15
"""An edge with less than this share of all rims' slope is none: light that fades is no rim, and in
glare nothing is seen."""

_ROWS: Final = 1 << 14
"""Rays that are read at once: OpenCV takes fewer than 32768."""


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
    n, m = inner_px.shape[:2]
    away = outer_px - inner_px
    length = np.hypot(away[..., 0], away[..., 1])
    longest = float(length.max(initial=1.0))
    k = max(9, math.ceil(longest / _STEP_PX) + 1)
    parts = np.linspace(0.0, 1.0, k)
    sigma = _RAY_SMOOTH_PX * (k - 1) / max(longest, 1.0)
    slopes = _read_slopes(smooth, inner_px.reshape(-1, 2), away.reshape(-1, 2), parts, sigma)
    slopes = slopes.reshape(n, m, k)
    slopes *= ((k - 1) / np.maximum(length, 1e-9)).astype(np.float32)[..., None]
    last = np.array(smooth.shape[::-1]) - 2
    inside = [((end >= 1) & (end <= last)).all(axis=-1) for end in (inner_px, outer_px)]
    some = np.nonzero(~(inside[0] & inside[1]))  # a straight ray with both ends inside is inside
    at = inner_px[some][:, None, :] + parts[:, None] * away[some][:, None, :]
    slopes[some] = np.where(((at >= 1) & (at <= last)).all(axis=-1), slopes[some], np.nan)
    return slopes, parts


def _read_slopes(
    smooth: Floats, inner_px: Floats, away_px: Floats, parts: Floats, sigma: float
) -> Any:
    """Return the change of brightness from sample to sample along some rays, smoothed, (n, k).

    Why OpenCV: it reads rays and smooths along them in a fifth of the time of scipy, and edges were
    the same to 0.001 px; versions that round places to a 32nd of a pixel stay within 0.02 px.
    """
    import cv2

    reach = math.ceil(4.0 * sigma)
    step = np.arange(-reach, reach + 1)
    bell = np.exp(-0.5 * (step / sigma) ** 2)
    bell = step * bell / (sigma**2 * bell.sum())
    shown: Any = np.asarray(smooth, np.float32)
    slopes = np.empty((len(inner_px), len(parts)), np.float32)
    for first in range(0, len(inner_px), _ROWS):
        rows = slice(first, first + _ROWS)
        x, y = (
            (inner_px[rows, i, None] + parts * away_px[rows, i, None]).astype(np.float32)
            for i in (0, 1)
        )
        read = cv2.remap(shown, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        slopes[rows] = cv2.sepFilter2D(
            read, cv2.CV_32F, bell, np.ones(1), borderType=cv2.BORDER_REPLICATE
        )
    return slopes


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
    outside = np.isnan(falls[..., 0] + falls[..., -1])  # rays are straight
    falls[np.isnan(falls)] = 0.0
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
