"""Side guides in a photograph: straight edges along travel beyond the outermost rims.

The rails or wires nearest to the pack are sought as edges that are straight over the whole length
seen: along such a line brightness changes across it nearly everywhere, along a row of round rims
only where they come nearest. So the median of the slope over the length tells one from the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.look.photo.edges import row_medians
from packsim.look.photo.outlines import SHOULDER, outline_share
from packsim.look.seen import View

_BEYOND: Final = 1.1
"""How far beyond the outermost rims a guide is sought, in diameters."""

_INSIDE_MM: Final = 6.0
"""And how far inside of them, where rims are measured that much too large."""

_STRAIGHTER, _SHADOW_MM = 1.0 / 3.0, 0.05
"""A dark edge with a larger error, and more of one than a bright one behind it by that share, is a
shadow's."""

_RIMS_BEYOND: Final = 3
"""A line that so many rims reach so far beyond is no guide; fewer may be seen wrong."""

_SLANTS: Final = np.tan(np.radians(np.linspace(-1.2, 1.2, 25)))
_SURE: Final = 6.0
"""A guide's edge stands out of the other edges of its strip by this factor of their spread."""

_NEARLY: Final = 0.25
"""The nearest line is the guide if it is this strong against the strongest, its far edge say."""

_LENGTH_SEEN: Final = 0.25
"""Share of the pack's length seen over which a guide has to be in the picture."""

_HELD: Final = 0.55
"""Share of that over which it shows an edge."""

_ALONG_MM: Final = 8.0
"""Slopes are averaged by so much along it."""

_STRAIGHT_MM: Final = 0.5
"""Its edge points lie on a line to this, or to 0.65 pixels: half of what edges at random do."""

_SMOOTH: Final = 2.9
"""What smooths an edge across a guide, in steps of half a pixel: a lens (0.7 px), the picture's
smoothing and that along the strip."""

_OFF_RIMS_MM: Final = 0.8
"""Edges this near to a rim, or within two pixels of it, are the rim's."""

_LEAST_MM: Final = 120.0
"""Length along travel that has to be seen of it."""


class Guide(NamedTuple):
    """A line y = ``at_mm`` + ``slant`` (x - x of the middle), and the error of ``at_mm`` [mm]."""

    at_mm: float
    slant: float
    error_mm: float


def guide_beside(
    smooth: Floats, view: View, centres_mm: Floats, radius_mm: float, side: int
) -> Guide | None:
    """Return the guide beyond the cans on one side, or None where no straight edge is seen.

    Parameters
    ----------
    smooth : ndarray, shape (h, w)
        The picture.
    view : View
        Its view, x along travel.
    centres_mm : ndarray, shape (n, 2)
        Cans that stand [mm].
    radius_mm : float
        Of a can [mm].
    side : {-1, 1}
        Left, where y is least, or right.

    Returns
    -------
    Guide or None
        Its face towards the cans, at the height of the rims.
    """
    x, y = centres_mm[:, 0], side * centres_mm[:, 1]
    rim = float(np.quantile(y, 1.0 - min(0.5, _RIMS_BEYOND / len(y)))) + radius_mm
    px_across = np.hypot(*view.px_of_a_mm(centres_mm)[:, 1].T)
    step = 0.5 / float(np.median(px_across))
    across = np.arange(rim - _INSIDE_MM, rim + 2.0 * _BEYOND * radius_mm, step)
    along = np.arange(x.min(), x.max(), max(2.0, 2.0 * step))
    strip, inside = _strip(smooth, view, along, side * across)
    grid = np.stack(np.meshgrid(along, side * across), axis=-1)
    margin = max(_OFF_RIMS_MM, 4.0 * step)
    inside &= _off_cans(view, grid, centres_mm, radius_mm) > margin
    slopes = np.where(inside, _slopes(strip, step), np.nan)
    if np.sum(inside.any(axis=0)) * (along[1] - along[0] if len(along) > 1 else 0.0) < _LEAST_MM:
        return None
    x, along = x - along.mean(), along - along.mean()
    lines = list(_straightest(slopes, along, across, step))
    dark: Guide | None = None
    for at, slant, sign in lines:
        if np.sum(y + radius_mm - at - slant * x > _INSIDE_MM / 2.0) >= _RIMS_BEYOND:
            continue
        if sign < 0.0 and (dark or not any(other > at and s > 0.0 for other, _, s in lines)):
            continue  # the far edge of a bright rail whose near edge is hidden
        found = _fitted(sign * slopes, along, across, (side, at, slant))
        if found is not None and sign < 0.0:
            dark = found  # or a shadow, if what is bright beyond it is straighter by far
        elif found is not None:
            better = dark is None or found.error_mm < _STRAIGHTER * dark.error_mm
            return found if better and (dark is None or dark.error_mm > _SHADOW_MM) else dark
    return dark


def _off_cans(view: View, grid: Floats, centres_mm: Floats, radius_mm: float) -> Floats:
    """Return how far places are off the outline of the nearest can, shoulders and all [mm]."""
    from scipy.spatial import cKDTree

    away, which = cKDTree(centres_mm).query(grid)
    eye, nearest = view.eye_mm(), centres_mm[which]
    along = np.sum((grid - nearest) * (nearest - eye[:2]), axis=-1) / np.maximum(away, 1e-9)
    slope = np.maximum(along / eye[2], 0.0)
    return np.asarray(away - radius_mm * outline_share(slope, SHOULDER))


def _strip(smooth: Floats, view: View, along: Floats, across: Floats) -> tuple[Floats, Bools]:
    """Return the strip of the plane, (across, along), and which of it is in the picture."""
    from scipy.ndimage import map_coordinates

    grid = np.stack(np.meshgrid(along, across), axis=-1)
    at = view.to_picture(grid)
    h, w = smooth.shape
    inside = (at[..., 0] > 1) & (at[..., 1] > 1) & (at[..., 0] < w - 2) & (at[..., 1] < h - 2)
    order = at[..., 1].ravel(), at[..., 0].ravel()
    read = map_coordinates(smooth, order, order=1, mode="nearest", output=np.float64)
    return read.reshape(inside.shape), inside


def _slopes(strip: Floats, step: float) -> Floats:
    from scipy.ndimage import gaussian_filter1d

    return np.asarray(gaussian_filter1d(strip, 2.0, axis=0, order=1) / step)


def _sheared(slopes: Floats, along: Floats, step: float, slant: float) -> Floats:
    """Move columns so that a line of that slant lies level."""
    rows = np.arange(len(slopes))[:, None] + np.rint(slant * along / step).astype(np.int64)
    within = (rows >= 0) & (rows < len(slopes))
    moved = np.take_along_axis(slopes, np.clip(rows, 0, len(slopes) - 1), axis=0)
    return np.where(within, moved, np.nan)


def _straightest(
    slopes: Floats, along: Floats, across: Floats, step: float
) -> Iterator[tuple[float, float, float]]:
    """Yield lines that stand out, the nearest first: place, slant, and the sign of the slope."""
    from scipy.ndimage import maximum_filter

    some = slopes[:, np.sum(~np.isnan(slopes), axis=0) > 10]
    if not some.size:
        return
    noise = 1.48 * float(np.nanmedian(np.abs(some))) / math.sqrt(slopes.shape[1]) + 1e-5
    medians = np.zeros((len(_SLANTS), len(across)))
    for i, slant in enumerate(_SLANTS):
        moved = _sheared(slopes, along, step, slant)
        enough = np.sum(~np.isnan(moved), axis=1) > _LENGTH_SEEN * moved.shape[1]
        medians[i, enough] = row_medians(moved[enough])
    strong = np.abs(medians)
    tops = strong == maximum_filter(strong, (9, max(3, round(2.0 / step))))
    tops[:, :2] = tops[:, -2:] = False
    tops &= strong > max(_NEARLY * strong.max(), _SURE * noise)
    for at, i in sorted((int(at), int(i)) for i, at in np.argwhere(tops)):
        yield float(across[at]), float(_SLANTS[i]), float(np.sign(medians[i, at]))


def _fitted(
    slopes: Floats, along: Floats, across: Floats, line: tuple[int, float, float]
) -> Guide | None:
    """Return the line through the strongest slope of every column near it.

    Noise is averaged away along it, which leaves an edge where it is if that is straight.
    """
    side, at, slant = line
    slopes = _smoothed(slopes, _ALONG_MM / (along[1] - along[0]))
    step = across[1] - across[0]
    off = across[:, None] - at - slant * along
    near = np.abs(off) < max(1.2, 3.0 * step)
    held = np.where(near & ~np.isnan(slopes), slopes, -np.inf)
    top = np.clip(np.argmax(held, axis=0), 1, len(across) - 2)
    column = np.arange(len(along))
    before, peak, after = (slopes[top + d, column] for d in (-1, 0, 1))
    bend = before - 2.0 * peak + after
    good = (peak > 0.0) & (bend < 0.0) & (peak >= before) & (peak >= after) & near[top, column]
    shown = np.all((np.abs(off) >= 1.5 * step) | ~np.isnan(slopes), axis=0)
    if good.sum() < max(20.0, _HELD * shown.sum()):
        return None
    shift = 0.5 * (before - after)[good] / bend[good]
    y, x = across[top[good]] + shift * step, along[good]
    weight = np.ones(len(x))
    terms = np.column_stack((np.ones(len(x)), x))
    for _ in range(12):
        told = np.linalg.lstsq(terms * weight[:, None], y * weight, rcond=None)[0]
        off = y - terms @ told
        spread = 1.48 * float(np.median(np.abs(off))) + 1e-3
        weight = np.maximum(0.0, 1.0 - (off / (4.0 * spread)) ** 2)
    if spread > max(_STRAIGHT_MM, 1.3 * step):
        return None
    kept = weight > 0.0
    apart = 2.0 * math.sqrt(math.pi) * _ALONG_MM / (along[1] - along[0])  # so many columns are one
    error = spread / math.sqrt(max(kept.sum() / apart, 1.0))
    at = float(told[0]) + _to_its_foot(slopes, along, across, (float(told[0]), float(told[1])))
    return Guide(side * at, side * float(told[1]), error)


def _smoothed(slopes: Floats, columns: float) -> Floats:
    """Return slopes averaged along by so many columns, from those that are seen; nan stays."""
    from scipy.ndimage import gaussian_filter1d

    there = ~np.isnan(slopes)
    total = gaussian_filter1d(np.where(there, slopes, 0.0), columns, axis=1)
    weight = gaussian_filter1d(there * 1.0, columns, axis=1)
    return np.asarray(np.where(there, total / np.maximum(weight, 1e-9), np.nan))


def _to_its_foot(slopes: Floats, along: Floats, across: Floats, line: tuple[float, float]) -> float:
    """Return how much nearer to the pack than its steepest place a guide begins, 0 or below [mm].

    A round wire or a rail with round edges gets brighter for some way from its outline on, which
    draws the steepest place outwards. The flank towards the pack knows nothing of that: for a
    sharp edge it is at half its height 1.18 σ before the edge, σ being what smooths the picture.
    """
    step = float(across[1] - across[0])
    off = np.arange(-12.0, 5.0, 0.5)
    row = (line[0] + line[1] * along - across[0]) / step + off[:, None]
    low = np.clip(np.floor(row).astype(np.int64), 0, len(across) - 2)
    column = np.arange(len(along))
    part = row - low
    read = (1.0 - part) * slopes[low, column] + part * slopes[low + 1, column]
    some = np.sum(~np.isnan(read), axis=1) > 10
    profile = np.array([np.nanmedian(r) if s else 0.0 for r, s in zip(read, some, strict=True)])
    top = int(np.argmax(profile))
    before = np.flatnonzero(profile[:top] < 0.5 * profile[top])
    if not len(before) or profile[top] <= 0.0:
        return 0.0
    i = int(before[-1])
    half = off[i] + 0.5 * (0.5 * profile[top] - profile[i]) / max(profile[i + 1] - profile[i], 1e-9)
    return step * float(np.clip(half + 1.18 * _SMOOTH, -3.0, 0.0))
