"""Sizes that do not fit to each other: cans of two in one picture, known lengths and the cans.

Two sizes are told by a step in what seems to be the diameter. A view makes diameters grow evenly
from one side of the picture to another, whatever it is mistaken in; between two stages or groups of
lanes with other cans they jump.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.look.known import TWO_SIDED
from packsim.look.photo.contacts import Touch
from packsim.look.photo.rectify import view_of

_LEAST_STEP: Final = 0.02
"""A jump by this share of the diameter: light from one side moves rims by less."""

_SURE: Final = 7.0
"""And by this many times its own error: of 50 rendered pictures of one size none had six."""

_LEAST_CANS: Final = 8
"""Cans on either side of the line."""

_WAYS: Final = 12

_POINTED_PX: Final = 1.5
"""Error of a point of the picture that somebody points at, one standard deviation (taken) [px]."""

_LEAST_PX: Final = 50.0
"""Over less than that no length is known that well [px]."""

_TAPED: Final = 0.002
"""Error of what is told, as a share: a tape's and that of the mean body (taken)."""

_HIDDEN: Final = 0.02
"""Cans that all stand apart alike by so much of a diameter may seem to touch: there the length is
right and the cans are not. Beyond it one of both is told wrong."""

_REMEDY: Final = "measure it again level with the can tops, point at its ends again, check --size"


def two_sizes(centres_mm: Floats, diameters_mm: Floats) -> bool:
    """Return whether cans are larger on one side of some straight line than on the other.

    Parameters
    ----------
    centres_mm, diameters_mm : ndarray, shape (n, 2) and (n,)
        The cans that stand, and the diameter each seems to have.

    Notes
    -----
    Derived here. Least squares of a plane of second degree and a step along each line of some, one
    for each can and direction; the step that is the surest is asked. It is less than what the sizes
    differ by, as the view grows even with some of that.
    """
    n = len(centres_mm)
    x, y = ((centres_mm - centres_mm.mean(axis=0)) / np.ptp(centres_mm, axis=0).max()).T
    smooth, _ = np.linalg.qr(np.column_stack((np.ones(n), x, y, x * x, x * y, y * y)))
    if n < 2 * _LEAST_CANS + smooth.shape[1]:
        return False
    left = diameters_mm - smooth @ (smooth.T @ diameters_mm)
    best = (0.0, 0.0)
    for way in np.arange(_WAYS) * (math.pi / _WAYS):
        order = np.argsort(x * math.cos(way) + y * math.sin(way))
        steps = np.tri(n)[:, _LEAST_CANS - 1 : n - _LEAST_CANS].copy()  # the first so many cans
        own = smooth[order]
        steps -= own @ (own.T @ steps)
        size2 = np.sum(steps**2, axis=0)
        told = steps.T @ left[order] / size2
        rest2 = np.sum(left**2) - told**2 * size2
        sure = np.abs(told) * np.sqrt(size2 * (n - 7) / np.maximum(rest2, 1e-12))
        k = int(np.argmax(sure))
        best = max(best, (float(sure[k]), abs(float(told[k]))))
    return best[0] > _SURE and best[1] > _LEAST_STEP * float(np.median(diameters_mm))


def against_cans(
    lengths: Sequence[tuple[Floats, float]],
    by_cans: Touch,
    size_px: tuple[int, int],
    diameter_mm: float,
    photo: str,
) -> tuple[tuple[str, ...], float]:
    """Return what lengths say against the cans, a sentence each, and by how much at most.

    Parameters
    ----------
    lengths : sequence of tuple
        Ends, shape (2, 2) [px], and the length [mm].
    by_cans : Touch
        The view by cans alone.
    size_px : tuple of int
        Width and height of the picture.
    diameter_mm : float
        Of a can, as given [mm].
    photo : str
        Name of the picture.

    Returns
    -------
    said : tuple of str
        Of each length that lies outside the ± of both.
    off : float
        Largest difference of those as a share, 0 without any [-].

    Raises
    ------
    InputError
        If ends are not in the picture, or a length and the cans cannot both be right.
    """
    view, said, worst = view_of(by_cans.numbers, size_px), [], 0.0
    for ends, told_mm in lengths:
        if (ends < 0.0).any() or (ends > np.array(size_px) - 1).any():
            allowed = f"two points of a picture of {size_px[0]} x {size_px[1]} pixels"
            raise InputError("length", f"the ends {_pair(ends)}", allowed, photo)
        if math.dist(*ends) < _LEAST_PX:
            allowed = f"two points {_LEAST_PX:g} pixels or more apart"
            raise InputError("length", f"the ends {_pair(ends)}", allowed, photo)
        by_cans_mm = math.dist(*view.to_mm(ends))
        pointed = math.sqrt(2.0) * _POINTED_PX / math.dist(*ends)
        within = TWO_SIDED * math.hypot(by_cans.error, pointed, _TAPED)
        off = told_mm / by_cans_mm - 1.0
        if abs(off) <= within:
            continue
        cans = f"cans of {diameter_mm:g} mm say {by_cans_mm:.1f} ± {within * by_cans_mm:.1f} mm"
        larger = f"by that length they would be {diameter_mm * (1.0 + off):.1f} mm across"
        got = f"{told_mm:.1f} mm from {_pair(ends)}; {cans} there ({100.0 * off:+.1f} %: {larger})"
        if abs(off) > within + _HIDDEN:
            allowed = f"a length and a can size that fit to each other: {_REMEDY}"
            raise InputError("length", got, allowed, photo)
        said.append(f"A known length and the cans do not agree: {got}. It is taken: {_REMEDY}.")
        worst = max(worst, abs(off))
    return tuple(said), worst


def _pair(ends: Floats) -> str:
    return " to ".join(f"{x:g},{y:g}" for x, y in ends.tolist())
