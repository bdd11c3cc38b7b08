"""Where a view begins: some cans and the view in which they are round; how rims are looked at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.errors import InputError
from packsim.look.photo.circles import bodies_of
from packsim.look.photo.outlines import Rounds
from packsim.look.photo.rectify import first_view, fitted, view_of
from packsim.look.photo.rims import Rims, find_rims, rims_of_all_shapes
from packsim.look.seen import View

_LEAST_CANS: Final = 4
"""Fewer rims hardly tell a view."""

_SUPPORT: Final = 0.42
"""Share of its rim a can has to show."""

_POOR: Final = 0.012
"""Rims whose edges are farther from a circle, as a share of its radius, are not those of a view."""

_ENOUGH: Final = 400
"""So many rims are not round in one view by chance, and other shapes take a third of all time."""

_NO_FEWER: Final = 0.8
"""Another view has to hold for so many cans for each one that the first one holds for."""

WEAK: Final = 0.75
"""Where less of a rim is seen it may be something else that is, and more of it beside."""

WINDOWS: Final = (0.12, 0.09, 0.06)
"""How far from a rim its edges are sought, look after look, as shares of its radius."""


class Begun(NamedTuple):
    """What is begun with: a view, centres in it, their outlines in ``view``, the one before."""

    numbers: Floats
    centres_mm: Floats
    rounds: Rounds
    view: View
    sign: float


def begun(grey: Floats, smooth: Floats, radius_mm: float, photo: str) -> Begun:
    """Find some cans and the view they are round in.

    Where the camera is near, rims here and there are of other shapes than those of any one place:
    where those of one shape are few and not round in one view, those of all shapes are asked.
    """
    rims = find_rims(grey)
    if len(rims.radii) < _LEAST_CANS:
        raise _no_cans(len(rims.radii), photo)
    try:
        first = _begun_with(smooth, [rims], radius_mm, photo)
    except InputError:
        first = None
    if first is not None and (
        first.rounds.spread_mm < _POOR * radius_mm or len(first.centres_mm) > _ENOUGH
    ):
        return first
    try:
        other = _begun_with(smooth, rims_of_all_shapes(grey), radius_mm, photo)
    except InputError:
        if first is None:
            raise
        return first
    if first is None:
        return other
    fewer = len(other.centres_mm) < _NO_FEWER * len(first.centres_mm)  # cans of one of two sizes
    return first if fewer or _worth(other) < _worth(first) else other


def _worth(begun: Begun) -> float:
    return float(np.sum(np.maximum(begun.rounds.support - _SUPPORT, 0.0))) / begun.rounds.spread_mm


def _begun_with(smooth: Floats, some: Sequence[Rims], radius_mm: float, photo: str) -> Begun:
    size, found, signs = (smooth.shape[1], smooth.shape[0]), [], []
    for rims in some:
        if len(rims.radii) < _LEAST_CANS:
            continue
        bodies = bodies_of(smooth, rims)
        if len(some) > 1:  # most of a shape that is none of theirs are wrong
            bodies = bodies.those(bodies.support > WEAK)
        found.append(bodies.in_picture(rims.shape))
        signs.append(bodies.sign * len(bodies.radii))
    if sum(len(part[0]) for part in found) < _LEAST_CANS:
        raise _no_cans(sum(len(part[0]) for part in found), photo)
    centres_px, roots = (np.concatenate(parts) for parts in zip(*found, strict=True))
    sign = math.copysign(1.0, sum(signs))
    numbers, off = first_view(centres_px, roots, radius_mm, size, most=len(some) == 1)
    centres = view_of(numbers, size).to_mm(centres_px)
    if len(some) > 1:
        centres = centres[alone(centres, 1.0 - off, 2.0 * radius_mm)]
    how = radius_mm, 0.0, sign
    numbers, centres, rounds, view, _ = looked(smooth, numbers, centres, how, WINDOWS, photo)
    return Begun(numbers, centres, rounds, view, sign)


def looked(
    smooth: Floats,
    numbers: Floats,
    centres: Floats,
    how: tuple[float, float, float],
    windows: tuple[float, ...],
    photo: str,
) -> tuple[Floats, Floats, Rounds, View, Floats]:
    """Look at the edges of rims once for each window: the view, and centres in it.

    Then of the last look the outlines by free rays, the view they are in, and centres by all rays.

    ``how`` is the radius, that of shoulders as a share of it, and the sign of edges.
    """
    size = smooth.shape[1], smooth.shape[0]
    for window in windows:
        view = view_of(numbers, size)
        numbers, rounds, free = fitted(smooth, numbers, centres, (*how, window, 0.6))
        if not np.isfinite(numbers).all():
            raise _no_cans(0, photo)
        good = alone(rounds.centres_mm, rounds.support, 2.0 * how[0])
        if good.sum() < _LEAST_CANS:
            raise _no_cans(int(good.sum()), photo)
        found = rounds.centres_mm[good]
        centres = view_of(numbers, size).to_mm(view.to_picture(found))
    return numbers, centres, free.those(good), view, found


def _no_cans(found: int, photo: str) -> InputError:
    got = "no round rims" if not found else f"{found} round rims of one size"
    allowed = (
        f"a picture from above with {_LEAST_CANS} or more can rims, 15 pixels or more across, "
        "taken at most 40° from plumb"
    )
    return InputError("picture", got, allowed, photo)


def alone(centres_mm: Floats, support: Floats, diameter_mm: float) -> Bools:
    """Return which of the circles are cans: enough of a rim, and the best where two overlap."""
    from scipy.spatial import cKDTree

    good = np.asarray(support > _SUPPORT)
    for i, j in cKDTree(centres_mm).query_pairs(0.8 * diameter_mm, output_type="ndarray"):
        if good[i] and good[j]:
            good[i if support[i] < support[j] else j] = False
    return good
