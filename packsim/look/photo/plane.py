"""The plane of the rims, from rims alone: found, made circles, sought once more on their plane."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.look.photo.begin import WEAK, WINDOWS, alone, begun, looked
from packsim.look.photo.edges import rays
from packsim.look.photo.outlines import SHOULDER, Rounds, edge_width_px, settled
from packsim.look.photo.rectify import fitted, view_of
from packsim.look.photo.rims import rims_on_plane
from packsim.look.seen import View

_BETTER: Final = 0.15
"""Another rim takes the place of one that is known where so much more of it is seen, as a share."""

_ASIDE: Final = 0.2
"""And where it is aside by more than that share of a radius; nearer it is the same one."""

_NEW: Final = (0.12, 0.06)
_LAST: Final = (0.06, 0.05, 0.045)
"""As `WINDOWS`: with rims newly found, which may be a tenth of a radius off, and last."""

_STEEP: Final = 0.27
"""Slant from which on, as its tangent, what is far is not found at once: 15 degrees."""

_SEARCHES: Final = 6
_MANY: Final = 0.1
"""So are more whole rims that are new than this share of those known: the first view was poor."""

_MORE: Final = 1.02
"""Then rims are sought twice, and again where the last search made them so many times as many."""

_LEANING: Final = 0.6
"""Rims that a far look loses are of cans that lean: those that show so much of it stay."""

_RIMS_ERROR: Final = 0.006
"""Error of the size of rims as a share, where light from one side moves edges: as rendered."""

_INSIDE: Final = 0.993
"""And where those edges are in the mean, as a share of the radius: as rendered."""

_SHARP_ERROR: Final = 0.0015
_SHARP_PX: Final = 4.2
"""The same, and the width of the edge of all rims up to which they are sharp: as drawings are."""


class Plane(NamedTuple):
    """The plane as rims show it, before touching cans are asked: in any turn.

    ``numbers`` (6,) are those of `packsim.look.photo.rectify`, ``rounds`` the outlines by free rays
    in ``view``, which is that of the look before, ``found_mm`` (n, 2) their centres by all rays;
    ``sharp`` whether their edges are, ``sign`` as of edges.
    """

    numbers: Floats
    rounds: Rounds
    found_mm: Floats
    view: View
    sharp: bool
    sign: float

    @property
    def outlines(self) -> Floats:
        """The numbers of the view in which bodies, not the edges seen of them, have their size."""
        return self.numbers * ([1.0] * 6 if self.sharp else [_INSIDE] * 3 + [1.0] * 3)

    @property
    def rims_error(self) -> float:
        """Error of the size of rims as a share: by light, and half of what shoulders do to it."""
        if self.sharp:
            return _SHARP_ERROR
        eye, middle = self.view.eye_mm(), self.rounds.centres_mm.mean(axis=0)
        slant = math.hypot(1.0, math.dist(middle, eye[:2]) / eye[2]) - 1.0
        return math.hypot(_RIMS_ERROR, SHOULDER / 4.0 * slant)


def plane_of(grey: Floats, smooth: Floats, radius_mm: float, photo: str) -> Plane:
    """Find rims, then the view they are circles in, then all rims of that size on its plane.

    Far from the cans that are known the view is first known badly: so rims are sought and the view
    is improved by turns, as long as that finds more.
    """
    numbers, centres, rounds, view, sign = begun(grey, smooth, radius_mm, photo)
    size = grey.shape[1], grey.shape[0]
    sharp = edge_width_px(smooth, view, centres, radius_mm) < _SHARP_PX
    eye = view.eye_mm()
    steep = math.dist(centres.mean(axis=0), eye[:2]) > _STEEP * eye[2]
    if sharp and steep:  # discs have no shoulders, and bodies may be in focus
        sharp = _flat(smooth, numbers, centres, (radius_mm, sign), photo)
    how = radius_mm, 0.0 if sharp else SHOULDER, sign
    centres, more = _more(grey, smooth, numbers, (centres, rounds.support), how)
    many = np.sum(_whole(view_of(numbers, size), more, radius_mm, size)) > _MANY * len(centres)
    for turn in range(_SEARCHES if steep or many else 0):
        known = len(centres)
        more = settled(smooth, view_of(numbers, size), more, how)
        centres = np.concatenate((centres, more))
        numbers, centres, rounds, view, _ = looked(smooth, numbers, centres, how, _NEW, photo)
        centres, more = _more(grey, smooth, numbers, (centres, rounds.support), how)
        if turn and len(centres) <= _MORE * known:
            break
    if steep and len(more):
        more = more[fitted(smooth, numbers, more, (*how, _LAST[0], 0.6))[1].support > _LEANING]
    centres = np.concatenate((centres, more))
    numbers, _, rounds, view, found = looked(smooth, numbers, centres, how, _LAST, photo)
    return Plane(numbers=numbers, rounds=rounds, found_mm=found, view=view, sharp=sharp, sign=sign)


def _flat(
    smooth: Floats, numbers: Floats, centres: Floats, how: tuple[float, float], photo: str
) -> bool:
    """Return whether outlines are rounder as discs than as bodies with shoulders."""
    discs, bodies = (
        looked(smooth, numbers, centres, (how[0], shoulder, how[1]), _NEW, photo)[2].spread_mm
        for shoulder in (0.0, SHOULDER)
    )
    return discs <= bodies


def _whole(view: View, centres_mm: Floats, radius_mm: float, size: tuple[int, int]) -> Bools:
    """Return which rims lie in the picture as a whole."""
    ends = view.to_picture(centres_mm[:, None, :] + radius_mm * rays(8))
    return np.asarray(_shown(ends, size).all(axis=1))


def _shown(points_px: Floats, size: tuple[int, int]) -> Bools:
    """Return which points lie in the picture."""
    return np.asarray(((points_px > 0.0) & (points_px < np.array(size) - 1.0)).all(axis=-1))


def _more(
    grey: Floats,
    smooth: Floats,
    numbers: Floats,
    told: tuple[Floats, Floats],
    how: tuple[float, float, float],
) -> tuple[Floats, Floats]:
    """Return rims that are known, by centre and support, mended; and those that are found anew.

    Where little of a rim is seen another one beside it may be the can, if far more of it is seen.
    """
    from scipy.spatial import cKDTree

    size, (centres, support) = (grey.shape[1], grey.shape[0]), told
    view, near = view_of(numbers, size), 1.2 * how[0]
    found = rims_on_plane(grey, view, centres, how[0])
    # less than half a rim tells little of its place
    found = found[_shown(view.to_picture(found), size)]
    weak = support < WEAK
    new = cKDTree(centres).query(found)[0] > near
    if not weak.any():
        return centres, found[new]
    rivals = ~new
    if not weak.all():
        rivals &= cKDTree(centres[~weak]).query(found)[0] > near
    beside = np.concatenate((centres[weak], found[rivals]))
    beside = np.concatenate((found[rivals], settled(smooth, view, beside, how)))
    other = cKDTree(centres[weak]).query(beside)[0] > _ASIDE * how[0]
    beside = np.unique(np.concatenate((centres[weak], beside[other])), axis=0)
    rounds = fitted(smooth, numbers, beside, (*how, WINDOWS[0], 0.6))[1]
    known = cKDTree(centres[weak]).query(beside)[0] == 0.0
    places = np.where(known[:, None], beside, rounds.centres_mm)
    best = places[alone(places, rounds.support + _BETTER * known, 2.0 * how[0])]
    return np.concatenate((centres[~weak], best)), found[new]
