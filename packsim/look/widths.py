"""Widths of a seen pack: guide to guide, rim to rim, what is left over and on which side of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.look.gaps import RowGaps
from packsim.look.known import TWO_SIDED, Known, known
from packsim.look.rows import SeenRows
from packsim.look.seen import SeenPack
from packsim.pack.lattice import lanes_width_mm

_USUAL_OFF: Final = 0.15
"""Error of how high a camera is that is taken as usual, as a share: phones differ so much in their
focal length (common practice, no source) [-]."""

_AMONG: Final = 5.0
"""Cans whose errors may all be those of one line: the farthest of hundreds is three errors out."""


def guides_at_rims(seen: SeenPack, below: Known, camera_mm: Known | None) -> tuple[SeenPack, float]:
    """Return what was seen with its guides where their faces are at the height of the rims.

    ``camera_mm`` is how high the camera was above the rims; where nobody knows, that of the usual
    camera. Returned with the error that both guides share, one standard deviation [mm]: it makes
    the clear width larger or smaller and moves it nowhere.
    """
    off, parallax = _USUAL_OFF, seen.guide_parallax
    if camera_mm is not None:
        off = camera_mm.within / TWO_SIDED / camera_mm.value
        parallax = (seen.guides_mm - seen.view.eye_mm()[1]) / camera_mm.value
    shared = np.abs(parallax) * math.hypot(below.within / TWO_SIDED, below.value * off)
    moved = replace(
        seen,
        guides_mm=seen.guides_mm + parallax * below.value,
        guide_errors_mm=np.hypot(seen.guide_errors_mm, shared),
        guide_parallax=parallax,
    )
    return moved, float(np.nansum(shared))


def clear_width(seen: SeenPack, faces: Sequence[float], own: float) -> Known | None:
    """Guide face to guide face, or None where one is not seen.

    ``faces`` are the errors of the faces and what they share [mm], ``own`` that of the diameter as
    a share of it, one standard deviation each [-].
    """
    width = seen.clear_width_mm
    if math.isnan(width):
        return None
    return known(width, *faces, width * seen.scale_error, width * own)


def least_width(seen: SeenPack, rows: SeenRows, own: float) -> Known:
    """Rim to rim of the outermost cans: those no farther in than their errors may put them."""
    inside = np.flatnonzero(rows.lane >= 0)
    y, error = seen.centres_mm[inside, 1], seen.errors_mm[inside]
    width, errors = seen.diameter_mm, []
    for side in (-1.0, 1.0):
        out = side * y
        among = out >= out.max() - _AMONG * error[out.argmax()]
        width += float(out[among].mean())
        errors.append(float(np.sqrt((error[among] ** 2).mean() / among.sum())))
    return known(width, *errors, width * seen.scale_error, width * own)


def slack_of(
    seen: SeenPack, rows: SeenRows, width: Known | None, faces: Sequence[float], own: float
) -> Known | None:
    """Clear width less pack width: the diameter's error counts for the slack alone."""
    if width is None:
        return None
    slack = width.value - lanes_width_mm(rows.lanes, seen.diameter_mm, rows.layout)
    return known(slack, *faces, width.value * seen.scale_error, slack * own)


def sees_whole_width(seen: SeenPack, rows: SeenRows) -> bool:
    """Whether a lane more would be seen on both sides, or a guide is."""
    x, y = seen.centres_mm[rows.lane >= 0].T
    room = seen.diameter_mm * 1.5
    outside = (float(y.min()) - room, float(y.max()) + room)
    middle = float(np.median(x))
    return all(
        math.isfinite(face) or _in_field(seen, middle, at)
        for face, at in zip(seen.guides_mm, outside, strict=True)
    )


def _in_field(seen: SeenPack, x_mm: float, y_mm: float) -> bool:
    import shapely

    return bool(shapely.Polygon(seen.field_mm).contains(shapely.Point(x_mm, y_mm)))


def share_left(gaps: RowGaps | None) -> Known | None:
    """Share of the slack at the guides that lies at the left one; errors to first order."""
    if gaps is None:
        return None
    left, right = gaps.left_mm, gaps.right_mm
    both = left.value + right.value
    if both <= math.hypot(left.within, right.within):
        return None
    within = math.hypot(right.value * left.within, left.value * right.within) / both**2
    return Known(min(1.0, max(0.0, left.value / both)), within)
