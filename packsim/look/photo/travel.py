"""Which way travel runs in a photograph: along the straight sides of the pack.

The lattice has six lines of symmetry, 30 degrees apart. Travel runs along one of them: along the
close-packed lines in a lengthwise pack, straight across them in a crosswise one. Only along travel
does the pack end on a straight line with open mat beyond it.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.errors import one_of
from packsim.look.seen import View

WAYS: Final = {"right": (1.0, 0.0), "down": (0.0, 1.0), "left": (-1.0, 0.0), "up": (0.0, -1.0)}
"""Where travel may go to in a picture, and the direction there [px]."""

_LEAST_BINS: Final = 4
"""A side is straight if the outermost cans of so many stretches say so."""


def travel_way(
    view: View, centres_mm: Floats, diameter_mm: float, lattice_rad: float, travel: str | None
) -> tuple[float, bool]:
    """Return the direction of travel on the plane, and whether the pack's sides tell its line.

    Parameters
    ----------
    view, centres_mm, diameter_mm
        As of `packsim.look.seen.SeenPack`, in any turn.
    lattice_rad : float
        Direction of a close-packed line [rad].
    travel : {"right", "left", "up", "down"} or None
        Where travel goes to in the picture; None for whichever of right and up its line is nearer.

    Returns
    -------
    way_rad : float
        Direction of travel [rad].
    told : bool
        Whether straight sides tell the line, within 45° of the one asked for.
    """
    lines = lattice_rad + math.pi / 6.0 * np.arange(6)
    asked = None if travel is None else WAYS[one_of("travel", travel, tuple(WAYS))]
    if asked is not None:
        near = np.abs(np.cos(lines - _way_of(view, centres_mm, asked))) > math.cos(math.pi / 3.9)
        lines = lines[near]
    scores = np.array([_straight_bins(view, centres_mm, diameter_mm, line) for line in lines])
    told = bool(scores.max() >= _LEAST_BINS)
    if told:
        line = float(lines[np.argmax(scores)])
    else:
        beside = [
            _way_of(view, centres_mm, WAYS[w]) for w in ((travel,) if travel else ("right", "up"))
        ]
        off = [float(np.abs(np.cos(lines - way)).max()) for way in beside]
        way = beside[int(np.argmax(off))]
        line = float(lines[np.argmax(np.abs(np.cos(lines - way)))])
    if asked is None:
        right, up = (_way_of(view, centres_mm, WAYS[w]) for w in ("right", "up"))
        to = right if abs(math.cos(line - right)) >= abs(math.cos(line - up)) else up
    else:
        to = _way_of(view, centres_mm, asked)
    return (line if math.cos(line - to) > 0.0 else line + math.pi), told


def _way_of(view: View, centres_mm: Floats, step_px: tuple[float, float]) -> float:
    """Direction on the plane of a direction in the picture, at the middle of the cans [rad]."""
    at = view.to_picture(centres_mm.mean(axis=0))
    one, two = view.to_mm(np.array([at, at + 10.0 * np.asarray(step_px)]))
    return math.atan2(two[1] - one[1], two[0] - one[0])


def _straight_bins(view: View, centres_mm: Floats, diameter_mm: float, line_rad: float) -> int:
    """Stretches along a line in which the outermost can stands level, with open field beyond."""
    along = np.array([math.cos(line_rad), math.sin(line_rad)])
    across = np.array([-along[1], along[0]])
    x, bins = centres_mm @ along, 0
    stretch = np.floor((x - x.min()) / (1.9 * diameter_mm)).astype(np.int64)
    for side in (-1.0, 1.0):
        y = side * (centres_mm @ across)
        tops = [
            int(np.flatnonzero(stretch == k)[np.argmax(y[stretch == k])])
            for k in np.unique(stretch)
        ]
        level = np.abs(y[tops] - np.median(y[tops])) < 0.2 * diameter_mm
        beyond = centres_mm[tops] + side * 1.1 * diameter_mm * across
        bins += int(np.sum(level & _in_picture(view, beyond)))
    return bins


def _in_picture(view: View, points_mm: Floats) -> Bools:
    at = view.to_picture(points_mm)
    return np.asarray(
        (at >= 0.0).all(axis=1) & (at <= 2.0 * np.asarray(view.middle_px)).all(axis=1)
    )
