"""Round rims in a picture: circles in a picture squeezed so that ellipses become circles.

Circles seen at a slant become ellipses of nearly one shape. The edges of many circles point every
way alike, so the mean of g gᵀ over the picture, g the slope of brightness, is a multiple of the
identity; a map A of the plane makes (A Aᵀ)⁻¹ of it [lindeberg1997]_. That names the shape; a few
others are tried beside it, since shadows and a ribbed mat have edges of their own. A picture
squeezed by the inverse is searched for circles of one size after the other, and the shape and size
whose circles have the most of their rim on edges is taken.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any, Final, NamedTuple

import numpy as np

from packsim.arrays import Floats
from packsim.look.photo.hough import circles_in, shown_of, slopes_of, support_of
from packsim.look.seen import View

_SEARCHED_PX: Final = 900.0
"""Longer side of the picture in which shape and size are sought [px]."""

_FINAL_PX: Final = 2000.0
"""Longer side of the picture in which all rims are then found [px]."""

_STEP: Final = 1.25
"""Sizes tried follow each other by this factor."""

_SMALL_PX: Final = 14.0
"""Rims with a smaller radius in that picture are sought in its middle half too, twice as large:
that part counts by how much of it circles cover, as the whole does."""

_LARGEST: Final = 0.3
"""Largest radius that is sought, as a share of the shorter side of a picture."""

_ROUND_ABOUT: Final = 0.05
"""Least share of the edges' directions that lies off the main one; of circles it is a half."""


_SHAPES: Final = 5
"""Shapes that are asked where one is not enough."""


class Rims(NamedTuple):
    """Ellipses of one shape: ``centres_px`` (n, 2), ``radii`` (n,) and ``shape`` (2, 2).

    Ellipse i is c + r S (cos φ, sin φ), S of determinant 1; ``support`` (n,) is the share of its
    rim that lies on an edge.
    """

    centres_px: Floats
    radii: Floats
    shape: Floats
    support: Floats


def find_rims(grey: Floats) -> Rims:
    """Find round rims of any one size, flattened in any one way.

    Parameters
    ----------
    grey : ndarray, shape (h, w)
        Brightness, 0 to 1.

    Returns
    -------
    Rims
        The rims, sought for nothing but their edges: some are none, some circles are missed, and
        which of the circles of a can was found is open.
    """
    best = _plain(grey, math.inf)
    if 0.0 < best.radius < _SMALL_PX and best.shrink > 1.0:
        h, w = grey.shape
        part = np.ascontiguousarray(grey[h // 4 : -(h // 4), w // 4 : -(w // 4)])
        middle = _plain(part, 4.0 * best.radius)
        best = max(best, middle, key=lambda one: one.score)
    near = (best.radius / 1.3, best.radius * 1.3) if best.score else (7.0, math.inf)
    best = _best_of(best, _slants(), *near)
    if best.score <= 0.0:
        return Rims(np.empty((0, 2)), np.empty(0), np.eye(2), np.empty(0))
    return _all_of(grey, best.shape, best.radius * best.shrink)


class _Sought(NamedTuple):
    """A picture, shrunk; the best shape and size of circles in it so far, and how well they fit."""

    small: Floats
    shrink: float
    shape: Floats
    radius: float = 0.0
    score: float = 0.0


def _plain(grey: Floats, most_px: float) -> _Sought:
    """Seek all sizes up to a radius in the shape that edges tell and in none.

    Guides and ribs may have most of the edges: then these tell a shape that no rim has.
    """
    small, shrink = _shrunk(grey, _SEARCHED_PX)
    shapes = _told_by_edges(small), np.eye(2)
    return _best_of(_Sought(small, shrink, np.eye(2)), shapes, 7.0, most_px)


def _best_of(best: _Sought, shapes: Iterable[Floats], least_px: float, most_px: float) -> _Sought:
    """Return the best of some shapes with sizes between two, and of what was known before."""
    for shape in shapes:
        score, radius = _best_size(_squeezed(best.small, shape), least_px, most_px)
        if score > best.score:
            best = best._replace(shape=shape, radius=radius, score=score)
    return best


def rims_of_all_shapes(grey: Floats) -> list[Rims]:
    """Find rims of those shapes, each of its own size, that more of them have than others."""
    small, shrink = _shrunk(grey, _SEARCHED_PX)
    none = _Sought(small, shrink, np.eye(2))
    shapes = _told_by_edges(small), np.eye(2), *_slants()
    each = [_best_of(none, (shape,), 7.0, math.inf) for shape in shapes]
    best = sorted(each, key=lambda one: -one.score)[:_SHAPES]
    return [
        _all_of(grey, one.shape, one.radius * shrink, _SEARCHED_PX)
        for one in best
        if one.score > 0.0
    ]


def rims_on_plane(grey: Floats, view: View, centres_mm: Floats, radius_mm: float) -> Floats:
    """Return centres of circles of a known radius on the plane of a view, shape (n, 2) [mm].

    The plane is laid out as far as two radii beyond the cans that are known; 22 pixels are a
    radius, or what the picture has.
    """
    import cv2

    low, high = centres_mm.min(axis=0) - 3.0 * radius_mm, centres_mm.max(axis=0) + 3.0 * radius_mm
    scale = 22.0 / radius_mm
    scale *= min(1.0, math.sqrt(8e6 / max(1.0, scale**2 * float(np.prod(high - low)))))
    coarse = 8.0 / scale
    x, y = (np.arange(a, b + coarse, coarse) for a, b in zip(low, high, strict=True))
    at = view.to_picture(np.stack(np.meshgrid(x, y), axis=-1)).astype(np.float32)
    size = (8 * (len(x) - 1) + 1, 8 * (len(y) - 1) + 1)
    back = np.array([[8.0, 0.0, 0.0], [0.0, 8.0, 0.0]])
    map_x, map_y = (
        cv2.warpAffine(np.ascontiguousarray(at[..., i]), back, size, borderMode=1) for i in (0, 1)
    )
    px_along = np.hypot(*view.px_of_a_mm(centres_mm)[:, 0].T)
    blur = max(0.5, 0.4 / scale * float(np.median(px_along)))
    plane: Any = cv2.remap(
        cv2.GaussianBlur(grey, (0, 0), blur), map_x, map_y, cv2.INTER_LINEAR, borderMode=1
    )
    plane = cv2.GaussianBlur(plane, (0, 0), 1.0)
    found = circles_in(shown_of(plane), 0.9 * scale * radius_mm, 1.08 * scale * radius_mm, 1.8)
    support = support_of(slopes_of(plane), found)
    return np.asarray(found[support > 0.3, :2] / scale + low)


def _shrunk(grey: Floats, longest_px: float) -> tuple[Floats, float]:
    import cv2

    shrink = max(1.0, max(grey.shape) / longest_px)
    if shrink == 1.0:
        return grey, 1.0
    size = round(grey.shape[1] / shrink), round(grey.shape[0] / shrink)
    return cv2.resize(grey, size, interpolation=cv2.INTER_AREA), grey.shape[1] / size[0]


def _told_by_edges(grey: Floats) -> Floats:
    """Return the shape that the directions of edges tell."""
    import cv2

    smooth = cv2.GaussianBlur(grey, (0, 0), 1.5)
    gx, gy = cv2.Sobel(smooth, -1, 1, 0).ravel(), cv2.Sobel(smooth, -1, 0, 1).ravel()
    strong = np.hypot(gx, gy)
    keep = strong > np.percentile(strong, 80.0)
    unit = np.vstack((gx[keep], gy[keep])) / strong[keep]
    square = unit @ unit.T / max(int(keep.sum()), 1)
    # all edges one way, or none, as of nothing or of a wall of planks: no rims tell a slant
    round_about = float(np.linalg.eigvalsh(square)[0]) > _ROUND_ABOUT
    return _root(np.linalg.inv(square)) if round_about else np.eye(2)


def _slants() -> Iterator[Floats]:
    """Yield shapes of slants in steps of 30°."""
    for aspect in (0.88, 0.78):
        for way in range(0, 180, 30):
            yield _flattened(aspect, math.radians(way))


def _root(matrix: Floats) -> Floats:
    values, vectors = np.linalg.eigh(matrix)
    root = vectors @ np.diag(np.sqrt(values)) @ vectors.T
    return np.asarray(root / math.sqrt(np.linalg.det(root)))


def _flattened(aspect: float, way: float) -> Floats:
    """Return the shape of a circle flattened to an aspect along a direction, of determinant 1."""
    along = np.array([math.cos(way), math.sin(way)])
    flat = np.eye(2) + (aspect - 1.0) * np.outer(along, along)
    return np.asarray(flat / math.sqrt(aspect))


def _squeezed(grey: Floats, shape: Floats) -> Floats:
    """Return the picture in which ellipses of that shape are circles, about the same middle."""
    import cv2

    h, w = grey.shape
    corners = np.array([[0, 0], [w, 0], [0, h], [w, h]]) @ np.linalg.inv(shape).T
    low, high = corners.min(axis=0), corners.max(axis=0)
    back = np.column_stack((shape, shape @ low))
    size = int(high[0] - low[0]), int(high[1] - low[1])
    return np.asarray(
        cv2.warpAffine(
            grey, back, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=1
        )
    )


def _corner(grey: Floats, shape: Floats) -> Floats:
    h, w = grey.shape
    corners = np.array([[0, 0], [w, 0], [0, h], [w, h]]) @ np.linalg.inv(shape).T
    return np.asarray(corners.min(axis=0))


def _best_size(grey: Floats, least_px: float, most_px: float) -> tuple[float, float]:
    """Return how well circles of the best size fill a picture, and that size [px]."""
    import cv2

    smooth = cv2.GaussianBlur(grey, (0, 0), 1.2)
    slopes, shown = slopes_of(smooth), shown_of(smooth)
    radius, best = max(7.0, least_px), (0.0, 0.0)
    while radius < min(most_px, _LARGEST * min(grey.shape)):
        found = circles_in(shown, radius, radius * _STEP)
        if len(found):
            support = support_of(slopes, found)
            score = float(np.sum(np.maximum(support - 0.45, 0.0) * found[:, 2] ** 2)) / grey.size
            best = max(best, (score, float(np.median(found[support >= np.median(support), 2]))))
        radius *= _STEP
    return best


def _all_of(grey: Floats, shape: Floats, radius: float, longest_px: float = _FINAL_PX) -> Rims:
    """Return all rims of one shape, 0.8 to 1.3 of a radius: others are found on their plane."""
    import cv2

    small, shrink = _shrunk(grey, longest_px)
    squeezed = cv2.GaussianBlur(_squeezed(small, shape), (0, 0), 1.2)
    slopes, at = slopes_of(squeezed), _corner(small, shape)
    found = circles_in(shown_of(squeezed), 0.8 * radius / shrink, 1.3 * radius / shrink, 1.9)
    support = support_of(slopes, found)
    keep = support > 0.4
    centres = (found[keep, :2] + at) @ shape.T * shrink
    return Rims(centres, found[keep, 2] * shrink, shape, support[keep])
