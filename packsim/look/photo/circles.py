"""Which circle of a can is its body, and each body as a circle in the squeezed picture.

From above a can shows several circles about one centre: the outline of its body, the ring it stands
on when it is the right way up, the edge of the dome in it. Only the outline has the diameter that
is known. It is the outermost circle, and in a pack cans nearly touch: so it is the outermost edge
that most cans have within half the distance to their nearest neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.look.photo.edges import edges_along, rays, row_medians, slopes_along
from packsim.look.photo.rims import Rims
from packsim.look.seen import View

_RAYS: Final = 48
"""Rays of a can; at its edge some pixels apart, so that their errors are nearly each its own."""

_OUTLINE: Final = 0.35
"""An edge is the outline if it is this strong against the strongest of all circles."""

_HOLDS: Final = 0.4
"""Least share of the rays of an outline that agree with it."""

_LOOSE: Final = (0.16, 0.1, 0.06)
"""How far from the rim of a can that may lean its edges are sought, as shares of its radius."""


_EVENER: Final = 0.4
"""Sizes of circles tell how large cans are, not what lies between, where they differ by less than
this share of what distances do."""

_FAINT: Final = 0.15
"""An edge with less than this share of all rims' slope, or twice that of its own rim's, is none: in
glare nothing is seen."""


class Bodies(NamedTuple):
    """Outlines as r(φ) = r + a cos 2φ + b sin 2φ in the squeezed picture, n of them.

    ``centres`` (n, 2), ``radii`` (n,) and ``flat`` (n, 2), a and b, all in px of the squeezed
    picture: pixels are S q of its points q. ``support`` (n,) is the share of its rays whose edge
    is where that says, ``sign`` as in `packsim.look.photo.edges.edges_along`.
    """

    centres: Floats
    radii: Floats
    flat: Floats
    support: Floats
    sign: float

    def those(self, which: Bools) -> Bodies:
        """Return some of them."""
        centres, radii, flat, support = (part[which] for part in self[:4])
        return Bodies(centres, radii, flat, support, self.sign)

    def in_picture(self, shape: Floats) -> tuple[Floats, Floats]:
        """Return centres (n, 2) and what maps a unit circle to each body (n, 2, 2) [px]."""
        a, b = self.flat.T
        local = np.array([[self.radii + a, b], [b, self.radii - a]]).transpose(2, 0, 1)
        return self.centres @ shape.T, shape @ local


def bodies_of(smooth: Floats, rims: Rims) -> Bodies:
    """Return the outline of each can that a rim was found of; cans without one are left out."""

    def squeezed(points: Floats) -> Floats:
        return np.asarray(points @ rims.shape.T)

    to_squeezed = np.linalg.inv(rims.shape)
    centres = rims.centres_px @ to_squeezed.T
    room = _room(centres, rims.radii)
    sign, share = _outline(smooth, rims.shape, centres, room)
    radii, flat = share * room, np.zeros((len(centres), 2))
    for window in (0.16, 0.12, 0.08):
        step, support, _ = _fit(smooth, squeezed, (centres, radii, flat), (sign, window, 0.0))
        good = (support > _HOLDS) & (np.abs(step[:, 0] / radii) < 0.2)
        good &= np.hypot(step[:, 1], step[:, 2]) < 0.4 * radii
        step[~good] = 0.0
        radii, centres = radii + step[:, 0], centres + step[:, 1:3]
        flat = flat + step[:, 3:]
        good &= np.hypot(flat[:, 0], flat[:, 1]) < 0.15 * radii
    return Bodies(centres, radii, flat, support, sign).those(good)


def flattened(
    smooth: Floats, view: View, centres_mm: Floats, radius_mm: float, sign: float
) -> tuple[Floats, Floats, Bools]:
    """Return how flat rims near known places are on the plane of a view.

    Returns
    -------
    flat_mm : ndarray, shape (n, 2)
        a and b of r + a cos 2φ + b sin 2φ [mm].
    error_mm : ndarray, shape (n,)
        Error of both together by what the rim leaves over, one standard deviation [mm].
    told : ndarray of bool, shape (n,)
        Whether the rim tells: whole in the picture, most of it seen, and near its place. Where it
        is lost in glare it is not seen.
    """
    n = len(centres_mm)
    centres, radii, flat = centres_mm, np.full(n, radius_mm), np.zeros((n, 2))
    for window in _LOOSE:
        now = centres, radii, flat
        step, close, error = _fit(smooth, view.to_picture, now, (sign, window, _FAINT))
        radii, centres = radii + step[:, 0], centres + step[:, 1:3]
        flat = flat + step[:, 3:]
    ends = view.to_picture(centres_mm[:, None, :] + 1.1 * radius_mm * rays(_RAYS))
    inside = (ends > 1.0) & (ends < np.array(smooth.shape[::-1]) - 2.0)
    good = (close > 0.7) & inside.all(axis=(1, 2))
    good &= np.abs(radii / radius_mm - 1.0) < 2.0 * _LOOSE[0]
    good &= np.hypot(*(centres - centres_mm).T) < 0.3 * radius_mm
    return flat, error, good


def _room(centres: Floats, radii: Floats) -> Floats:
    """Return half the distance of neighbours, as a smooth function of place, shape (n,).

    The third nearest is asked: a circle that is none is often nearer, and a can in a pack has three
    at least that touch it or nearly do. Where many have fewer, the circles' own sizes tell better
    how it changes over the picture.
    """
    from scipy.spatial import cKDTree

    if len(centres) < 6:
        return radii
    half = np.log(np.maximum(cKDTree(centres).query(centres, 4)[0][:, 3] / 2.0, 1.0))
    (apart, apart_off), (size, size_off) = (_even(centres, log) for log in (half, np.log(radii)))
    if size_off < _EVENER * apart_off:
        return np.asarray(np.exp(size + np.quantile(half - size, 0.25)))
    return np.asarray(np.exp(apart))


def _even(centres: Floats, values: Floats) -> tuple[Floats, float]:
    """Return what grows evenly over the picture of some values, and how far most are off it."""
    middle, reach = centres.mean(axis=0), np.ptp(centres, axis=0).max()
    terms = np.column_stack((np.ones(len(centres)), (centres - middle) / reach))
    weight = np.ones(len(centres))
    for _ in range(15):
        told = np.linalg.lstsq(terms * weight[:, None], values * weight, rcond=None)[0]
        off = values - terms @ told
        spread = 1.48 * float(np.median(np.abs(off - np.median(off)))) + 0.01
        weight = 1.0 / (1.0 + (off / (2.0 * spread)) ** 2)
    return terms @ told, spread


def _ends(
    shape: Floats, centres: Floats, inner: Floats, outer: Floats, count: int
) -> tuple[Floats, Floats]:
    """Return ends of rays in the picture, of circles in the squeezed one [px]."""
    unit = rays(count)
    return tuple(  # type: ignore[return-value]
        (centres[:, None, :] + r[:, None, None] * unit) @ shape.T for r in (inner, outer)
    )


def _outline(smooth: Floats, shape: Floats, centres: Floats, room: Floats) -> tuple[float, float]:
    """Return the sign of the outline's slope and its radius as a share of the room."""
    inner, outer = _ends(shape, centres, 0.4 * room, 1.25 * room, 36)
    slopes, parts = slopes_along(smooth, inner, outer)
    size = np.nanmax(np.abs(slopes), axis=(1, 2), keepdims=True)
    mean = np.nan_to_num(np.nanmean(np.clip(slopes / size, -0.3, 0.3), axis=(0, 1)))
    share = 0.4 + 0.85 * parts
    allowed = (share > 0.5) & (share < 1.1)
    sign = 1.0 if -mean[allowed].min() >= 0.7 * mean[allowed].max() else -1.0
    falls = np.where(allowed, -sign * mean, 0.0)
    peaks = (falls[1:-1] >= falls[:-2]) & (falls[1:-1] > falls[2:])
    peaks &= falls[1:-1] > _OUTLINE * falls.max()
    last = np.flatnonzero(peaks)
    return sign, float(share[1 + last[-1]] if len(last) else share[np.argmax(falls)])


def _fit(
    smooth: Floats,
    to_picture: Callable[[Floats], Floats],
    now: tuple[Floats, Floats, Floats],
    how: tuple[float, float, float],
) -> tuple[Floats, Floats, Floats]:
    """One step of every outline: change of r, x, y, a, b, shape (n, 5).

    Then the share of its rays whose edges are close to it, and the error of a and b together.
    """
    (centres, radii, flat), (sign, window, faint) = now, how
    unit = rays(_RAYS)
    cos2, sin2 = unit[:, 0] ** 2 - unit[:, 1] ** 2, 2.0 * unit[:, 0] * unit[:, 1]
    expected = radii[:, None] + flat[:, :1] * cos2 + flat[:, 1:] * sin2
    inner, outer = (
        to_picture(centres[:, None, :] + (g * expected)[..., None] * unit)
        for g in (1.0 - window, 1.0 + window)
    )
    found = edges_along(smooth, inner, outer, sign, 0.5)
    off = (2.0 * found.part - 1.0) * window * expected
    terms = np.column_stack((np.ones(_RAYS), unit, cos2, sin2))
    step = np.zeros((len(radii), 5))
    seen = np.asarray(found.seen)
    if faint:
        blind = np.logical_not(seen.any(axis=1))[:, None]
        own = row_medians(np.where(seen | blind, found.slope, np.nan))[:, None]
        seen = seen & (found.slope > np.maximum(2.0 * faint * own, faint * np.median(own)))
    weight = np.asarray(seen * 1.0)
    for _ in range(6):
        step = weighed_steps(terms, off, weight)
        left = off - step @ terms.T
        spread = 1.48 * row_medians(np.abs(left))[:, None] + 0.02 * math.sqrt(window)
        weight = np.asarray(seen / (1.0 + (left / (1.5 * spread)) ** 2) ** 2)
    close = seen & (np.abs(left) < 0.04 * radii[:, None])
    cov = np.linalg.inv(_squares(terms, weight))
    error = spread[:, 0] * np.sqrt(cov[:, 3, 3] + cov[:, 4, 4])
    return step, np.asarray(close.mean(axis=1)), error


def weighed_steps(terms: Floats, off: Floats, weight: Floats) -> Floats:
    """Solve n least-squares problems of one set of terms (m, t) and weights (n, m): (n, t)."""
    right = np.einsum("mt,nm,nm->nt", terms, weight, off)
    return np.asarray(np.linalg.solve(_squares(terms, weight), right[..., None])[..., 0])


def _squares(terms: Floats, weight: Floats) -> Floats:
    least = 1e-9 * np.eye(terms.shape[1])
    return np.asarray(np.einsum("mt,nm,ms->nts", terms, weight, terms) + least)
