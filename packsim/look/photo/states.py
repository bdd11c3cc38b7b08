"""What the rim of each can says: its centre's error, its diameter, whether it leans."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats, Ints
from packsim.look.photo.circles import flattened, weighed_steps
from packsim.look.photo.edges import rays
from packsim.look.photo.outlines import Rounds
from packsim.look.seen import LEANS_FROM_DEG, View

_SURE: Final = 3.0
"""And by this many times what light and flaws do to half of all rims."""

_ERROR: Final = 0.01
"""Error of a rim's flatness up to which it tells, as a share of its radius."""

_LIKE: Final = 0.02
"""A rim as flat as that of a can that leans differs from it by less, as a share of its radius."""

_LEANS: Final = np.radians(np.arange(16.0, 46.0, 3.0))
_WAYS: Final = rays(36)
"""Leans and ways to lean that are tried."""

_FOOT: Final = 0.75
"""A can that leans left its foot so many diameters back or farther, where no can is as near."""

_CLEAR: Final = 0.7

_DARK: Final = 0.5
"""A circle this dark against the others is a gap or a wall, whose edges are no rim."""

_MEAN_OF_MEDIAN: Final = 4.0 / 3.357
"""Mean over median of a chi-square of four."""


class Told(NamedTuple):
    """What n rims tell, arrays of shape (n,).

    Errors of centres, radii less the known one, errors of those [mm], and whether the can leans.
    """

    errors_mm: Floats
    grown_mm: Floats
    grown_errors_mm: Floats
    leaning: Bools

    def those(self, which: Bools) -> Told:
        """Return what some of the rims tell."""
        one, two, three = (part[which] for part in self[:3])
        return Told(one, two, three, self.leaning[which])


def told_by(rounds: Rounds, leaning: Bools) -> Told:
    """Return what the residuals of rims tell.

    Notes
    -----
    Derived here. Each rim is fitted by r + Σ (aₖ cos kφ + bₖ sin kφ) up to k = 3. The first wave
    is the centre. A round rim has neither the second nor the third: what a can has of them beyond
    what all have in common is flaws of its rim, and there is no reason why the first should have
    less. So their root mean square is the error of the centre, half and half with that of all
    cans, as four numbers alone tell it badly; the radius has 1/√2 of it, since a constant is
    better fitted than a wave by that. Pixel noise is in it too.
    """
    m = rounds.offs_mm.shape[1]
    unit = rays(m)
    turn = np.arctan2(unit[:, 1], unit[:, 0])
    waves = np.column_stack([f(k * turn) for k in (2, 3) for f in (np.cos, np.sin)])
    weight = np.asarray((rounds.weights > 0.2) * 1.0)
    step = weighed_steps(np.column_stack((np.ones(m), unit, waves)), rounds.offs_mm, weight)
    own = step[:, 3:] - np.median(step[:, 3:], axis=0)
    of_all = float(np.median(np.mean(own**2, axis=1))) * _MEAN_OF_MEDIAN
    # one that leans has a second wave which is no flaw
    flaw = np.mean(np.minimum(own**2, 9.0 * of_all), axis=1)
    errors = np.sqrt(0.5 * flaw + 0.5 * of_all)
    grown = weighed_steps(np.column_stack((np.ones(m), unit)), rounds.offs_mm, weight)[:, 0]
    return Told(errors, grown, errors / math.sqrt(2.0), leaning)


def leaning_cans(
    smooth: Floats, view: View, centres_mm: Floats, radius_mm: float, sign: float
) -> Bools:
    """Return which cans lean, shape (n,): their rims are flat as those of leaning cans.

    What all rims have in common, alike everywhere or more to one side of the picture, is the
    view's. A rim that the edge of the picture cuts tells nothing. Flaws and light make rims seem
    flat too: but not so much, that way, where a can has left its place for it; nor is a dark circle
    a can. One that leans towards the camera has a rim that seems round, and is not told.
    """
    flat, error, told = flattened(smooth, view, centres_mm, radius_mm, sign)
    terms = np.column_stack((np.ones(len(flat)), (centres_mm - centres_mm.mean(axis=0))))
    usual = told.copy()
    for _ in range(3):
        if usual.sum() < 2 * terms.shape[1]:
            return np.zeros(len(flat), dtype=np.bool_)
        common = terms @ np.linalg.lstsq(terms[usual], flat[usual], rcond=None)[0]
        own = np.hypot(*(flat - common).T)
        of_half = float(np.median(own[told]))
        usual = told & (own < 3.0 * of_half)
    flat_mm = radius_mm * (1.0 - math.cos(math.radians(LEANS_FROM_DEG))) / 2.0
    some = told & (own > max(flat_mm, _SURE * of_half)) & (error < _ERROR * radius_mm)
    leans = np.flatnonzero(some)
    if len(leans):
        off = _off_leaning(view, centres_mm, leans, (flat - common)[leans] / radius_mm)
        some[leans] = np.where(_left(centres_mm, leans, 2.0 * radius_mm), off, 1.0).min(axis=1) < (
            _LIKE
        )
    tops = _brightness(smooth, view, centres_mm, radius_mm)
    return np.asarray(some & (tops > _DARK * np.median(tops)))


def _off_leaning(view: View, centres_mm: Floats, some: Ints, flat: Floats) -> Floats:
    """Return how far rims are off those of cans that lean each way, shape (k, ways).

    ``flat`` (k, 2) and the result are shares of a radius.

    Notes
    -----
    Derived here. A rim whose axis is turned by α towards w is spanned by u = (cos α w, -sin α) and
    by what is square to both. Along a line of sight that goes t aside for each mm down, a point h
    higher is seen h t farther out on the plane: so u is seen as p = cos α w - sin α t, the other
    one as it is, q. To first order its radius is R + R (φ·E φ)/2 with E = p pᵀ + q qᵀ - 1.
    """
    eye = view.eye_mm()
    aside = ((centres_mm[some] - eye[:2]) / eye[2])[:, None, None, :]
    p = np.cos(_LEANS)[:, None, None] * _WAYS - np.sin(_LEANS)[:, None, None] * aside
    q = _WAYS[:, ::-1] * (-1.0, 1.0)
    along = (p[..., 0] ** 2 - p[..., 1] ** 2 + q[:, 0] ** 2 - q[:, 1] ** 2) / 4.0
    across = (p[..., 0] * p[..., 1] + q[:, 0] * q[:, 1]) / 2.0
    off = np.hypot(flat[:, :1, None] - along, flat[:, 1:, None] - across)
    return np.asarray(off.min(axis=1))


def _left(centres_mm: Floats, some: Ints, diameter_mm: float) -> Bools:
    """Return ways, (k, ways), behind which a place in the pack is clear where a foot may be."""
    from scipy.spatial import Delaunay, cKDTree

    foot = centres_mm[some, None, :] - _FOOT * diameter_mm * _WAYS
    clear = cKDTree(centres_mm).query(foot)[0] > _CLEAR * diameter_mm
    return np.asarray(clear & (Delaunay(centres_mm, qhull_options="QJ").find_simplex(foot) >= 0))


def _brightness(smooth: Floats, view: View, centres_mm: Floats, radius_mm: float) -> Floats:
    """Return how bright the top of each can is, median over most of it."""
    from scipy.ndimage import map_coordinates

    within = np.concatenate([part * rays(12) for part in (0.2, 0.4, 0.6, 0.75)])
    x, y = np.moveaxis(view.to_picture(centres_mm[:, None, :] + radius_mm * within), -1, 0)
    return np.asarray(np.median(map_coordinates(smooth, (y, x), order=1, mode="nearest"), axis=1))
