"""Cans that lie: walls on the mat in a gap or fallen across other cans, circles on them no cans."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.look.photo.walls import TURNS, Wall, ground_of, walls_along
from packsim.look.seen import View

_CONTRAST: Final = 0.12
"""Cans have to be this much brighter than the open mat."""


class Lying(NamedTuple):
    """Cans that lie, k of them: ``middles_mm`` (k, 2), ``errors_mm`` (k,) along one axis.

    Of the n circles taken for standing cans ``covered`` lie on their walls and are none, and of
    those ``beside`` them a wall may hide part of the rim.
    """

    middles_mm: Floats
    errors_mm: Floats
    covered: Bools
    beside: Bools


def lying_cans(
    smooth: Floats, view: View, centres_mm: Floats, diameter_mm: float, guides_mm: Floats
) -> Lying | None:
    """Return the cans that lie.

    Parameters
    ----------
    smooth : ndarray, shape (h, w)
        The picture.
    view, centres_mm, diameter_mm
        Its view, the cans that seem to stand and their diameter.
    guides_mm : ndarray, shape (2,)
        Left and right guide face; nan where not seen [mm].

    Returns
    -------
    Lying or None
        None where cans and mat are equally bright, so that nothing tells.

    Notes
    -----
    Derived here. How high a lying can is, on the mat or on others, is not seen, and at a slant it
    is shifted by that: the error of its place is a quarter of a diameter and, times the slant, 0.7
    of one.
    """
    ground = ground_of(smooth, view, centres_mm, diameter_mm, guides_mm)
    if ground.cans - ground.mat < _CONTRAST:
        return None
    eye = view.eye_mm()
    slants = (ground.places_mm - eye[:2]) / eye[2]
    found = [
        wall
        for turn in np.arange(TURNS if ground.open.any() else 0) * (math.pi / TURNS)
        for wall in walls_along(ground, slants, float(turn), diameter_mm)
    ]
    walls: list[Wall] = []
    for wall in sorted(found, key=lambda one: -one.sure):
        if not any(_near(wall.place_mm, other, 0.95 * diameter_mm) for other in walls):
            walls.append(wall)
    covered, beside = (np.zeros(len(centres_mm), dtype=np.bool_) for _ in range(2))
    for wall in walls:
        on_it = 0.35 * wall.wide * diameter_mm
        covered |= _near(centres_mm, wall, on_it, 0.45 * diameter_mm)
        beside |= _near(centres_mm, wall, diameter_mm)
    middles = np.array([wall.place_mm + wall.axis * _middle_mm(wall) for wall in walls])
    middles = middles.reshape(-1, 2)
    slant = np.hypot(*(middles - eye[:2]).T) / eye[2]
    return Lying(middles, diameter_mm * np.hypot(0.25, 0.7 * slant), covered, beside)


def _middle_mm(wall: Wall) -> float:
    return (wall.on_mm + wall.back_mm) / 2.0


def _near(at: Floats, wall: Wall, apart_mm: float, less_mm: float = 0.0) -> Bools:
    """Return which places are closer to a wall's axis, shortened at both ends, than that."""
    off = at - wall.place_mm
    along, across = off @ wall.axis, off @ (wall.axis[::-1] * (-1.0, 1.0))
    half = (wall.on_mm - wall.back_mm) / 2.0 - less_mm
    beyond = np.maximum(np.abs(along - _middle_mm(wall)) - half, 0.0)
    return np.asarray(np.hypot(beyond, across) < apart_mm)
