"""The view of the rims' plane, from rims alone: perspective, one lens term and the scale.

Derived here. All bodies have one diameter D and stand upright, so their outlines are circles of
radius R = D/2 in one plane, and the map from picture to plane is the one that makes every outline
such a circle. With (u, v) a pixel freed of the lens, from the middle of the picture in units of
half its diagonal,

    x = (a u + b v) / (1 + p u + q v),   y = c v / (1 + p u + q v)   [mm],

which is every perspective but for a turn and a shift, that no circle can tell. An ellipse has three
numbers that know nothing of where it is: its size tells the scale, its flattening (two) the slant.
So one can already fixes a, b and c; how size and shape change over the picture fixes p and q, and a
lens of r (1 + k r²) makes radii grow by 1 + 3 k r² along and 1 + k r² round about, which no
perspective does. Five numbers and the lens follow from the edge points e of n cans by least squares
of |x(e) - C| - R, the 2 n centres C free.

No distance between cans is asked. A lattice would give the same numbers only if cans touched: with
slack they stand apart by an unknown amount, more across than along, and a scale or a slant taken
from their distances would hide exactly the slack that is sought. Distances enter in one way: cans
cannot stand into each other. Where a length between two points is given, the scale is that length's
and the mean diameter is a result.
"""

from __future__ import annotations

import math

import numpy as np

from packsim.arrays import Floats
from packsim.look.photo.camera import no_camera
from packsim.look.photo.outlines import (
    Rounds,
    about,
    common_shape,
    edge_points,
    free_rays,
    outline_radii,
    ray_count,
    wall_rays,
)
from packsim.look.seen import USUAL_FOCAL, View


def view_of(numbers: Floats, size_px: tuple[int, int]) -> View:
    """Return the view that the six numbers a, b, c, p, q, k of the module describe."""
    a, b, c, p, q, k = numbers
    middle = (size_px[0] - 1) / 2.0, (size_px[1] - 1) / 2.0
    reach = math.hypot(*size_px) / 2.0
    to_off = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, reach]]) / reach
    to_mm = np.array([[a, b, 0.0], [0.0, c, 0.0], [p, q, 1.0]]) @ to_off
    return View(np.asarray(np.linalg.inv(to_mm)), float(k), middle, reach)


def first_view(
    centres_px: Floats,
    roots: Floats,
    radius_mm: float,
    size_px: tuple[int, int],
    *,
    most: bool = True,
) -> tuple[Floats, Floats]:
    """Return the six numbers that make most of some outlines circles.

    Parameters
    ----------
    centres_px : ndarray, shape (n, 2)
        Centres of outlines, one by one; some of them wrong [px].
    roots : ndarray, shape (n, 2, 2)
        What maps a unit circle to each of them [px].
    radius_mm : float
        The known radius [mm].
    size_px : tuple of int
        Width and height of the picture.
    most : bool
        Whether most of them are right; else those count that agree, and no other.

    Returns
    -------
    numbers : ndarray, shape (6,)
        a, b, c, p, q, k of the module.
    off : ndarray, shape (n,)
        How far each outline is off a circle of that radius, as a share of it.

    Notes
    -----
    The fit begins at the best of many views: the one that has the median outline everywhere, and
    for each outline the two that a camera of the usual focal length may have of it.
    """
    from scipy.optimize import least_squares

    reach = math.hypot(*size_px) / 2.0
    ends = centres_px[:, None, :] + 0.5 * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]])
    own = roots / radius_mm  # px for a mm, two directions of the plane

    def not_round(numbers: Floats) -> Floats:
        at = view_of(numbers, size_px).to_mm(ends)
        slopes = np.stack((at[:, 0] - at[:, 1], at[:, 2] - at[:, 3]), axis=-1)
        made = slopes @ own
        gram = made @ made.transpose(0, 2, 1)
        off = gram[:, 0, 0] - 1.0, gram[:, 1, 1] - 1.0, math.sqrt(2.0) * gram[:, 0, 1]
        return np.stack(off)

    squares = np.linalg.inv(own @ own.transpose(0, 2, 1)) * reach**2
    longer = max(size_px) / reach
    starts = [_numbers_of(np.linalg.inv(np.median(np.linalg.inv(squares), axis=0)), np.zeros(2))]
    for square, at in zip(squares, (centres_px - np.array(size_px) / 2.0) / reach, strict=True):
        values, ways = np.linalg.eigh(square)
        fall = math.sqrt(values[1] / values[0] - 1.0) / (USUAL_FOCAL * longer) * ways[:, 1]
        # areas there are those of the middle over the cube of that sum
        starts += [
            _numbers_of(square * max(1.0 + float(way @ at), 0.2) ** 3, way) for way in (fall, -fall)
        ]

    def far(numbers: Floats) -> float:
        off = np.hypot.reduce(not_round(numbers), axis=0)
        return float(np.sum(np.minimum(np.nan_to_num(off, nan=1.0), 0.3)))

    start = min(starts, key=far)
    scale = np.array([start[0], start[0], start[2], 1.0, 1.0, 1.0])

    def left(x: Floats) -> Floats:
        camera = 0.02 * math.sqrt(2.0 * no_camera(x * scale, size_px))
        return np.concatenate([not_round(x * scale).ravel(), 0.01 * x[3:], [camera]])

    found = least_squares(left, start / scale, f_scale=0.02, loss="soft_l1" if most else "cauchy")
    numbers = np.asarray(found.x * scale)
    return numbers, np.asarray(np.hypot.reduce(not_round(numbers), axis=0) / 2.0)


def _numbers_of(square: Floats, fall: Floats) -> Floats:
    """Return the numbers of a view without a lens by AᵀA and l of `packsim.look.photo.camera`."""
    upper = np.linalg.cholesky(square).T
    return np.array([upper[0, 0], upper[0, 1], upper[1, 1], *fall, 0.0])


def fitted(
    smooth: Floats,
    numbers: Floats,
    centres_mm: Floats,
    how: tuple[float, float, float, float, float],
) -> tuple[Floats, Rounds, Rounds]:
    """Improve the view and all centres by one look at the edges.

    Parameters
    ----------
    smooth : ndarray, shape (h, w)
        The picture, smoothed by ``SMOOTH_PX``.
    numbers : ndarray, shape (6,)
        The view.
    centres_mm : ndarray, shape (n, 2)
        Where cans are thought to be.
    how : tuple of float
        The known radius [mm], the radius of shoulders as a share of it, the sign of the outline's
        slope, how far to look inside and outside of it as a share of the radius, and the share of
        rays a can needs to speak for the view.

    Returns
    -------
    numbers : ndarray, shape (6,)
        The view, better.
    rounds : Rounds
        The outlines in the old view, about the centres that fit them there.
    free : Rounds
        The same by those rays that no can close by disturbs: centres that such a can does not push
        away.
    """
    radius_mm, shoulder, sign, window, needed = how
    size = smooth.shape[1], smooth.shape[0]
    view = view_of(numbers, size)
    count = ray_count(view, centres_mm, radius_mm)
    radii = outline_radii(view, centres_mm, count, (radius_mm, shoulder))
    points, seen = edge_points(smooth, view, centres_mm, radii, (sign, window))
    at = view.to_mm(points)
    rounds = about(at, seen, centres_mm, radii)
    speaks = rounds.support > needed
    open_rays = seen & free_rays(centres_mm, count, radius_mm)
    own = about(at, open_rays, centres_mm, radii)._replace(support=rounds.support)
    if speaks.sum() < 3:
        return numbers, rounds, own
    bare = open_rays & ~wall_rays(view, centres_mm, count, radius_mm)
    open_rounds = about(at, bare, rounds.centres_mm, radii).those(speaks)
    for _ in range(2):
        numbers = _turned(numbers, size, points[speaks], open_rounds, radii[speaks])
    rounds = about(at, seen, centres_mm, radii + common_shape(rounds, speaks))
    return numbers, rounds, own


def _turned(
    numbers: Floats, size: tuple[int, int], points: Floats, rounds: Rounds, radii_mm: Floats
) -> Floats:
    """One Gauss-Newton step of the six numbers, centres eliminated can by can."""
    at, slopes = _moved_by(numbers, size, points)
    centres = about(at, rounds.weights > 0, rounds.centres_mm, radii_mm).centres_mm
    scale = np.array([abs(numbers[0]), abs(numbers[0]), abs(numbers[2]), 1.0, 1.0, 1.0])
    away = at - centres[:, None, :]
    far = np.sqrt(np.sum(away**2, axis=-1))
    unit, off = away / far[..., None], far - radii_mm
    weight = np.sqrt(rounds.weights / (1.0 + (off / (2.0 * rounds.spread_mm)) ** 2))
    along = np.einsum("tnmi,nmi->nmt", slopes, unit) * scale
    rows = np.concatenate((along, off[..., None]), axis=-1) * weight[..., None]
    # take from every can's rows what its centre can explain
    own, _ = np.linalg.qr(unit * weight[..., None])
    rows = (rows - own @ (own.transpose(0, 2, 1) @ rows)).reshape(-1, 7)
    rows, left = rows[:, :6], rows[:, 6]
    step = np.linalg.lstsq(rows.T @ rows + np.diag(_held(rounds)), -rows.T @ left, rcond=None)[0]
    return np.asarray(numbers + step * scale)


def _moved_by(numbers: Floats, size: tuple[int, int], points_px: Floats) -> tuple[Floats, Floats]:
    """Return where points (n, m, 2) are on the plane, and how each number moves them, (6, ...)."""
    view, bent = view_of(numbers, size), numbers.copy()
    bent[5] += 1e-5
    at, (u, v) = view.to_mm(points_px), np.moveaxis(view.freed(points_px), -1, 0)
    moved = np.zeros((6, *at.shape))
    w = 1.0 + numbers[3] * u + numbers[4] * v
    moved[0, ..., 0] = u / w
    moved[1, ..., 0] = moved[2, ..., 1] = v / w
    moved[3], moved[4] = -at * (u / w)[..., None], -at * (v / w)[..., None]
    moved[5] = (view_of(bent, size).to_mm(points_px) - at) / 1e-5
    return at, moved


def _held(rounds: Rounds) -> Floats:
    """Return a weak hold on perspective and lens, which a few cans in a row do not tell."""
    return np.array([0, 0, 0, 1.0, 1.0, 1.0]) * (rounds.spread_mm / 0.5) ** 2
