"""One row of nozzles, as most tests here look at it; and its misalignment shift by shift."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.nozzles.lane_lines import offsets_mm
from packsim.nozzles.shift import BestShift, Facing, joint_shift


def facing(lines: ArrayLike, nozzles: ArrayLike, weights: ArrayLike | None = None) -> Facing:
    places = np.asarray(lines, dtype=np.float64)
    share = np.ones(len(places)) if weights is None else np.asarray(weights, dtype=np.float64)
    return Facing(places, np.sort(nozzles), share)


def best_shift(
    lines_mm: ArrayLike,
    nozzles_mm: ArrayLike,
    room_mm: tuple[float, float],
    weights: ArrayLike | None = None,
) -> BestShift:
    return joint_shift([facing(lines_mm, nozzles_mm, weights)], room_mm)


def shift_curve(
    lines: ArrayLike, nozzles: ArrayLike, shifts: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Worst and root mean square misalignment at each shift."""
    off = offsets_mm(np.asarray(lines) + np.asarray(shifts)[:, None], nozzles)
    return np.abs(off).max(axis=1), np.sqrt((off**2).mean(axis=1))
