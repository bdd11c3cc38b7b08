"""Outlines of cans on the plane of the rims: where their edges are sought and what these tell.

Light, shoulders, walls in sight and cans close by move the edge that is seen off the outline; what
is known of that is taken off, or such edges are not asked.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats, Ints
from packsim.look.photo.edges import edges_along, rays, row_medians, slopes_along
from packsim.look.seen import View

_NEAR: Final = 0.03
"""An edge this near to the rim, as a share of its radius, speaks for the can."""

_CLOSE: Final = 1.1
"""Cans up to so many diameters apart are close."""

_SETTLES: Final = 0.36
"""How far off a place a rim is sought at most, as a share of its radius."""

_TOWARDS_RAD: Final = math.radians(13.0)
"""Rays within this angle of a can close by are not asked."""

_WALL_SEEN: Final = 0.1
"""Slant, as its tangent, from which on walls are in sight."""

SHOULDER: Final = 2.0 / 7.0
"""Radius of the shoulder of a body, as a share of the body's (assumed: see `outline_radii`)."""


class Rounds(NamedTuple):
    """Edge points of n outlines in the plane, with m rays each.

    ``offs_mm`` (n, m) is how far each lies outside the circle of the known radius about its centre,
    ``weights`` (n, m) how much it counts, ``support`` (n,) the share of rays that agree.
    """

    centres_mm: Floats
    offs_mm: Floats
    weights: Floats
    support: Floats
    spread_mm: float

    def those(self, which: Bools) -> Rounds:
        """Return the outlines of some cans."""
        centres, offs, weights, support = (part[which] for part in self[:4])
        return Rounds(centres, offs, weights, support, self.spread_mm)


def about(points_mm: Floats, seen: Bools, centres_mm: Floats, radii_mm: Floats) -> Rounds:
    """Fit a centre to the edge points of each can; points off its circle count for little."""
    m, radius_mm = points_mm.shape[1], float(np.mean(radii_mm))
    centres = centres_mm.copy()
    weights = np.asarray(seen * 1.0)
    spread = np.full((len(centres), 1), 0.03 * radius_mm)
    blind = ~np.any(seen, axis=1)
    for turn in range(
        8
    ):  # for cans by the thousand each of these steps is a tenth of a millisecond
        x, y = (points_mm[..., i] - centres[:, None, i] for i in (0, 1))
        far = np.sqrt(x * x + y * y)
        off = far - radii_mm
        if turn:
            held = np.where(seen, np.abs(off), np.nan)
            held[blind] = 1.0
            spread = np.maximum(1.48 * row_medians(held), 1e-3 * radius_mm)[:, None]
        near = np.maximum(0.0, 1.0 - (off / (4.0 * spread)) ** 2)
        weights = near * near * seen
        x /= far
        y /= far
        wx, wy = weights * x, weights * y
        xx, xy, yy, right_x, right_y = (
            np.einsum("nm,nm->n", *two) for two in ((wx, x), (wx, y), (wy, y), (wx, off), (wy, off))
        )
        xx, yy = xx + 1e-6 * m, yy + 1e-6 * m
        step = np.column_stack((yy * right_x - xy * right_y, xx * right_y - xy * right_x))
        step /= (xx * yy - xy * xy)[:, None]
        centres = centres + np.clip(step, -0.1 * radius_mm, 0.1 * radius_mm)
    away = points_mm - centres[:, None, :]
    off = np.hypot(away[..., 0], away[..., 1]) - radii_mm
    support = np.asarray(np.mean(seen & (np.abs(off) < _NEAR * radius_mm), axis=1))
    good = np.asarray((weights > 0.0) & (support > 0.5)[:, None])
    pooled = float(1.48 * np.median(np.abs(off[good]))) if good.any() else 0.02 * radius_mm
    return Rounds(centres, off, weights, support, pooled)


def common_shape(rounds: Rounds, which: Bools) -> Floats:
    """Return what all outlines have in common beside circle, shift and flattening, (m,) [mm].

    Light from one side moves the edge that is seen of every can alike, which is no error of one.
    """
    held = np.where((rounds.weights > 0.0) & which[:, None], rounds.offs_mm, np.nan)
    some = np.sum(~np.isnan(held), axis=0) > 2
    shape = np.zeros(held.shape[1])
    shape[some] = row_medians(held[:, some].T)
    waves = np.fft.rfft(shape)
    waves[:3] = 0.0
    waves[9:] = 0.0
    return np.asarray(np.fft.irfft(waves, held.shape[1]))


def edge_points(
    smooth: Floats, view: View, centres_mm: Floats, radii_mm: Floats, how: tuple[float, float]
) -> tuple[Floats, Bools]:
    """Return edge points near outlines of radii (n, m): (n, m, 2) [px], and which are there."""
    sign, window = how
    unit = rays(radii_mm.shape[1])
    inner, outer = (
        view.to_picture(centres_mm[:, None, :] + g * radii_mm[..., None] * unit)
        for g in (1.0 - window, 1.0 + window)
    )
    found = edges_along(smooth, inner, outer, sign, 0.5)
    return inner + found.part[..., None] * (outer - inner), found.seen


def outline_radii(view: View, centres_mm: Floats, count: int, how: tuple[float, float]) -> Floats:
    """Return the radius each outline seems to have along each ray, shape (n, count) [mm].

    Notes
    -----
    Derived here. The shoulder of a body is taken as a quarter circle of radius s between wall and
    top. Seen at an angle θ from plumb its farther side ends where the line of sight touches it,
    s sin θ higher and s (1 - cos θ) farther in than where it is widest; on the plane of the rims
    that seems to be s (1/cos θ - 1) farther out. Aside of the line of sight tan θ counts by the
    cosine; on the near side the widest circle is in sight. Valid where shoulders are alike: s is a
    seventh of the diameter, as of a body of 66 mm that stands on a ring of 48 mm.
    """
    eye = view.eye_mm()
    away = centres_mm - eye[:2]
    slope = np.maximum(away @ rays(count).T / eye[2], 0.0)
    return how[0] * outline_share(slope, how[1])


def outline_share(slope: Floats, shoulder: float) -> Floats:
    """Return the radius an outline seems to have of its own, by the slope of the line of sight."""
    return np.asarray(1.0 + shoulder * (np.sqrt(1.0 + slope**2) - 1.0))


def settled(smooth: Floats, view: View, centres_mm: Floats, how: tuple[float, ...]) -> Floats:
    """Return where, near each of some places, most of a rim is, shape (n, 2) [mm].

    Places found by a search may be a sixth of a radius off, which is more than an edge is sought
    away from a rim; and an edge of something else is no reason to stay. A strong edge counts no
    more than the usual one of the same can. ``how`` is the radius, that of shoulders as a share of
    it, and the sign of edges.
    """
    from scipy.ndimage import maximum_filter1d

    if not len(centres_mm):
        return centres_mm
    radius_mm, shoulder, sign = how
    unit, least, most = rays(48), 0.9 - _SETTLES, 1.2 + _SETTLES
    inner, outer = (
        view.to_picture(centres_mm[:, None, :] + g * radius_mm * unit) for g in (least, most)
    )
    slopes, parts = slopes_along(smooth, inner, outer)
    falls = np.nan_to_num(np.maximum(-sign * slopes, 0.0))
    usual = np.median(falls.max(axis=-1), axis=1)[:, None, None]
    falls = np.minimum(falls / np.maximum(usual, 1e-6), 1.0)
    between = round(_SETTLES / 6.0 / (most - least) * len(parts))
    falls = maximum_filter1d(falls, between | 1, axis=-1)
    steps = np.linspace(-_SETTLES, _SETTLES, 13)
    shifts = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    shifts = shifts[np.hypot(shifts[:, 0], shifts[:, 1]) <= _SETTLES]
    # the rim of a shifted circle lies farther out along a ray by what of the shift points there
    away = shifts @ unit.T
    away = away + np.sqrt(1.0 - np.sum(shifts**2, axis=1)[:, None] + away**2) - 1.0
    radii = outline_radii(view, centres_mm, len(unit), (1.0, shoulder))
    score = np.empty((len(centres_mm), len(shifts)))
    cans, ray = np.arange(len(centres_mm))[:, None], np.arange(len(unit))
    for i, one in enumerate(away):
        at = (radii + one - least) / (most - least) * (len(parts) - 1)
        at = np.clip(np.rint(at), 0, len(parts) - 1).astype(np.int64)
        score[:, i] = falls[cans, ray, at].mean(axis=1)
    return np.asarray(centres_mm + radius_mm * shifts[np.argmax(score, axis=1)])


def wall_rays(view: View, centres_mm: Floats, count: int, radius_mm: float) -> Bools:
    """Return which rays point to where the wall of a can comes in sight below it, (n, count).

    There brightness falls at the widest circle or lower down, as light has it. Walls are in sight
    on the side of the camera, of cans that have no two others close by on that side.
    """
    eye = view.eye_mm()
    away = centres_mm - eye[:2]
    steep = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
    near = -away / steep[:, None]
    before = np.zeros(len(centres_mm))
    one, two = _close_pairs(centres_mm, radius_mm).T
    for i, j in ((one, two), (two, one)):
        apart = centres_mm[j] - centres_mm[i]
        ahead = np.sum(apart * near[i], axis=1) > 0.3 * np.hypot(apart[:, 0], apart[:, 1])
        np.add.at(before, i, ahead * 1.0)
    bare = (before < 2.0) & (steep > _WALL_SEEN * eye[2])
    return np.asarray((near @ rays(count).T > 0.5) & bare[:, None])


def _close_pairs(centres_mm: Floats, radius_mm: float) -> Ints:
    from scipy.spatial import cKDTree

    found = cKDTree(centres_mm).query_pairs(_CLOSE * 2.0 * radius_mm, output_type="ndarray")
    return np.asarray(found, dtype=np.int64)


def free_rays(centres_mm: Floats, count: int, radius_mm: float) -> Bools:
    """Return which rays do not point to a can close by, (n, count).

    Where two outlines nearly meet each blurs the dark line between them, and both edges seem to
    lie too far inside: more so the closer they are, which would shrink the rims of a pack along
    the lines in which its cans touch.
    """
    free = np.ones((len(centres_mm), count), dtype=np.bool_)
    pairs = _close_pairs(centres_mm, radius_mm)
    unit = rays(count)
    for one, two in (pairs.T, pairs.T[::-1]):
        away = centres_mm[two] - centres_mm[one]
        away /= np.hypot(away[:, 0], away[:, 1])[:, None]
        np.logical_and.at(free, one, away @ unit.T < math.cos(_TOWARDS_RAD))
    return free


def edge_width_px(smooth: Floats, view: View, centres_mm: Floats, radius_mm: float) -> float:
    """Return over how many pixels brightness falls at the rims, full width at half the slope."""
    unit = rays(48)
    inner, outer = (
        view.to_picture(centres_mm[:, None, :] + g * radius_mm * unit) for g in (0.8, 1.2)
    )
    slopes, parts = slopes_along(smooth, inner, outer)
    free = free_rays(centres_mm, len(unit), radius_mm)[..., None]
    mean = np.abs(np.nanmedian(np.where(free, slopes, np.nan), axis=(0, 1)))
    top = int(np.argmax(mean))
    low = mean < 0.5 * mean[top]
    before = parts[:top][low[:top]].max(initial=0.0)
    after = parts[top:][low[top:]].min(initial=1.0)
    length = np.hypot(*np.moveaxis(outer - inner, -1, 0))
    return float((after - before) * np.median(length))


def ray_count(view: View, centres_mm: Floats, radius_mm: float) -> int:
    """Rays of a can: 64, or fewer where their edges would be under three pixels apart."""
    ends = view.to_picture(centres_mm[:, None, :] + radius_mm * rays(8))
    middle = view.to_picture(centres_mm)[:, None, :]
    radius = float(np.median(np.hypot(*np.moveaxis(ends - middle, -1, 0))))
    return int(np.clip(2.0 * math.pi * radius / 3.0, 16, 64))
