"""Walls seen from aside on the plane of the rims: bright alike along an axis, with straight edges.

A wall is as bright all along its axis as it is anywhere, whatever light does across it, and ends in
two straight edges one diameter apart. Tops of standing cans, gaps and their shadows are not like
that for longer than a can is wide; ribs of a mat are, but no brighter than the mat. So the plane of
the rims is turned by each of some angles, and along its rows means and spreads over a length of
more than a diameter are taken, less what grows evenly, as light does.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.look.seen import View

_CELLS: Final = 20
"""Cells of the plane across one diameter."""

TURNS: Final = 24
"""Angles that are tried in half a turn."""

_BESIDE: Final = 2 * _CELLS
"""Cells across an axis on either side that are asked about it, at most."""

_LONG: Final = 1.2
"""Length along which a wall has to be alike, in diameters; the shortest cans have a bit more."""

_CORE: Final = 0.42
"""How far off its axis, in seeming diameters, brightness is read."""

_EDGES_AT: Final = (0.425, 0.55)
"""Where its edges are sought: what lies deeper seems smaller, what lies on cans larger."""

_WIDTHS: Final = 0.06
"""Seeming widths are tried in steps of this share, as a slant makes them."""

_EDGE: Final = 0.03
"""Least slope of an edge: this share of the picture's contrast in a cell."""

_EDGES_SEEN: Final = 0.8
"""Share of its length along which each edge has to be seen."""

_SURE: Final = 0.8
"""Least of that share less what differs along the axis, as a share of the contrast and half of it
as one of what differs across: as rendered, `python -m tests.look --fallen`."""

_BRIGHT: Final = 0.45
"""The middle of a wall is brighter than the mat somewhere by this share of what cans are."""


class Ground(NamedTuple):
    """The plane of the rims laid out, (h, w): brightness, places, where a wall's middle may be."""

    shown: Floats
    places_mm: Floats
    open: Bools
    contrast: float
    mat: float
    cans: float


class Wall(NamedTuple):
    """A wall: a place of it, how sure it is, the way of its axis, and how far it goes from there.

    ``place_mm`` and ``axis`` (2,), ``back_mm`` and ``on_mm`` along the axis, and how many diameters
    it seems to be ``wide``.
    """

    place_mm: Floats
    sure: float
    axis: Floats
    back_mm: float
    on_mm: float
    wide: float


def ground_of(
    smooth: Floats, view: View, centres_mm: Floats, diameter_mm: float, guides_mm: Floats
) -> Ground:
    """Lay the plane out about the cans that stand; the parameters are those of `lying_cans`."""
    import cv2
    from scipy.spatial import cKDTree

    step = diameter_mm / _CELLS
    low, high = centres_mm.min(axis=0) - diameter_mm, centres_mm.max(axis=0) + diameter_mm
    grid = np.stack(
        np.meshgrid(*(np.arange(a, b, step) for a, b in zip(low, high, strict=True))), -1
    )
    at = view.to_picture(grid).astype(np.float32)
    px = step * float(np.median(np.hypot(*view.px_of_a_mm(centres_mm)[:, 0].T)))
    shown: Any = cv2.remap(
        cv2.GaussianBlur(smooth, (0, 0), max(0.3, 0.45 * px)),
        at[..., 0],
        at[..., 1],
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    away = cKDTree(centres_mm).query(grid)[0]
    seen = ((at > 1.0) & (at < np.array(smooth.shape[::-1]) - 2.0)).all(axis=-1)
    beyond = 0.75 * diameter_mm  # where what lies on cans hangs over a guide, or seems to
    between = seen & ~(grid[..., 1] < guides_mm[0] - beyond)
    between &= ~(grid[..., 1] > guides_mm[1] + beyond)
    near = between & (away < 1.6 * diameter_mm)
    free, on = near & (away > 0.53 * diameter_mm), seen & (away < 0.4 * diameter_mm)
    if free.sum() < _CELLS or not on.any():
        none = np.zeros_like(near)
        return Ground(shown=shown, places_mm=grid, open=none, contrast=1.0, mat=0.0, cans=1.0)
    inner: Any = cv2.erode(between.astype(np.uint8), np.ones((9, 9), np.uint8), borderValue=0)
    return Ground(
        shown=shown,
        places_mm=grid,
        open=np.asarray(near & (inner > 0)),
        contrast=float(np.diff(np.quantile(shown[near], (0.1, 0.9)))[0]),
        mat=float(np.quantile(shown[free], 0.25)),
        cans=float(np.median(shown[on])),
    )


def walls_along(ground: Ground, slants: Floats, turn: float, diameter_mm: float) -> list[Wall]:
    """Return the walls along one angle that are sure enough.

    Parameters
    ----------
    ground : Ground
        The plane laid out.
    slants : ndarray, shape (h, w, 2)
        How far the line of sight goes along x and y for each mm it comes down [-].
    turn : float
        Way of the axis [rad].
    diameter_mm : float
        Diameter of the cans [mm].

    Notes
    -----
    Derived here. A wall across a line of sight whose slant across the axis is t covers √(1 + t²)
    diameters of the plane.
    """
    import cv2

    h, w = ground.shown.shape
    cos, sin = math.cos(turn), math.sin(turn)
    across = (slants[..., 1] * cos - slants[..., 0] * sin).astype(np.float32)
    seeming = np.sqrt(1.0 + across**2)
    size = int(w * abs(cos) + h * abs(sin)) + 2, int(w * abs(sin) + h * abs(cos)) + 2
    turned = cv2.getRotationMatrix2D((w / 2.0, h / 2.0), math.degrees(turn), 1.0)
    turned[:, 2] += (size[0] - w) / 2.0, (size[1] - h) / 2.0
    back = cv2.invertAffineTransform(turned)
    shown: Any = cv2.warpAffine(ground.shown, turned, size, borderMode=cv2.BORDER_REPLICATE)
    wide_at: Any = cv2.warpAffine(seeming * ground.open, turned, size)
    long = int(_LONG * _CELLS) | 1
    mean: Any = cv2.blur(shown, (long, 1))
    ramp = np.linspace(-1.0, 1.0, long)[None, :]
    ramp /= np.sqrt(long * np.sum(ramp**2))
    grows: Any = cv2.filter2D(shown, -1, ramp, borderType=cv2.BORDER_REPLICATE)
    along = np.maximum(cv2.blur(shown * shown, (long, 1)) - mean**2 - grows**2, 0.0)
    edges = _edges(shown, _EDGE * ground.contrast, long)
    least, most = float(seeming[ground.open].min()), float(seeming[ground.open].max())
    found = []
    for wide in np.arange(least + _WIDTHS / 2.0, most + _WIDTHS / 2.0, _WIDTHS):
        fits = np.abs(wide_at - wide) <= _WIDTHS / 2.0 + 0.01
        if not fits.any():
            continue
        low, high = (np.flatnonzero(fits.any(axis=1))[[0, -1]] + (-_BESIDE, _BESIDE + 1)).tolist()
        left, right = (np.flatnonzero(fits.any(axis=0))[[0, -1]] + (0, 1)).tolist()
        part = slice(max(low, 0), high), slice(left, right)  # nothing is asked of what is farther
        sure = np.zeros_like(mean)
        sure[part] = _sureness(ground, (mean[part], along[part], edges[part]), wide)
        sure[~fits] = 0.0
        if not (sure > _SURE).any():
            continue
        peak = (sure > _SURE) & (sure >= cv2.dilate(sure, np.ones((_CELLS, _CELLS), np.uint8)))
        for i, j in np.argwhere(peak).tolist():
            place = ground.places_mm[0, 0] + (back @ (j, i, 1.0)) * (diameter_mm / _CELLS)
            reach = _reach(shown, (i, j), wide, 0.15 * ground.contrast)
            back_mm, on_mm = (cells * diameter_mm / _CELLS for cells in reach)
            found.append(
                Wall(
                    place_mm=place,
                    sure=float(sure[i, j]),
                    axis=np.array([cos, sin]),
                    back_mm=back_mm,
                    on_mm=on_mm,
                    wide=float(wide),
                )
            )
    return found


def _edges(shown: Any, least: float, long: int) -> Any:
    """Return the share of a length along each row on which an edge runs along it, to one cell."""
    import cv2

    across = np.abs(cv2.Sobel(shown, -1, 0, 1, scale=0.125))
    along = np.abs(cv2.Sobel(shown, -1, 1, 0, scale=0.125))
    edge = ((across > least) & (across > 1.5 * along)).astype(np.float32)
    return cv2.blur(cv2.dilate(edge, np.ones((3, 1), np.uint8)), (long, 1))


def _sureness(ground: Ground, rows: tuple[Any, Any, Any], wide: float) -> Any:
    """Return how much each place of a turned plane is like the middle of a wall; 0 where not."""
    import cv2

    mean, along, edges = rows
    core = int(2.0 * _CORE * wide * _CELLS) | 1
    level: Any = cv2.blur(mean, (1, core))
    differs = np.sqrt(np.maximum(cv2.blur(along, (1, core)), 0.0)) / ground.contrast
    across = np.sqrt(np.maximum(cv2.blur(mean * mean, (1, core)) - level**2, 0.0)) / ground.contrast
    near, far = int(_EDGES_AT[0] * wide * _CELLS), int(_EDGES_AT[1] * wide * _CELLS) + 1
    best = cv2.dilate(edges, np.ones((far - near + 1, 1), np.uint8))
    both = _less_of_sides(best, (near + far) // 2)
    beside = _less_of_sides(cv2.blur(mean, (1, far - near + 1)), far + (far - near) // 2)
    bright = cv2.dilate(mean, np.ones((int(0.5 * wide * _CELLS) | 1, 1), np.uint8))
    least = ground.mat + _BRIGHT * (ground.cans - ground.mat)
    sure = both - differs - 0.5 * differs / np.maximum(across, 1e-6)
    usable = (both > _EDGES_SEEN) & (across > 0.04) & (differs < 0.15)
    usable &= (level > least) | ((bright > least) & (level > beside))
    return np.where(usable, sure, 0.0).astype(np.float32)


def _less_of_sides(told: Any, off: int) -> Any:
    """Return of each place the less of what is told so many cells off it across, either way."""
    wide = np.pad(told, ((off, off), (0, 0)), mode="edge")
    return np.minimum(wide[: -2 * off], wide[2 * off :])


def _reach(shown: Any, at: tuple[int, int], wide: float, most: float) -> tuple[float, float]:
    """Return how many cells a wall goes on back and on along its row from a place of it."""
    i, j = at
    half, core = int(_LONG * _CELLS) // 2, int(_CORE * wide * _CELLS)
    strip = shown[max(i - core, 0) : i + core + 1]
    usual = strip[:, max(j - half, 0) : j + half + 1].mean(axis=1)
    other = np.sqrt(np.mean((strip - usual[:, None]) ** 2, axis=0)) > most
    before, after = np.flatnonzero(other[:j]), np.flatnonzero(other[j:])
    longest = 1.5 * _CELLS
    back = j - before[-1] - 1 if len(before) else longest
    on = after[0] - 1 if len(after) else longest
    return -min(float(back), longest), min(float(on), longest)
