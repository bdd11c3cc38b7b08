"""Gaps between running cans that are more than the one between three of them, to be shaded."""

from dataclasses import dataclass

import numpy as np

from packsim.pack.voids import open_faces
from packsim.passage import Frame
from viewer.line import LineMap

MAX_SHADED = 1600
"""Most cans in view for which voids are looked for; more are too small to see gaps between."""


@dataclass(frozen=True, slots=True)
class ShadedVoid:
    """One gap to shade: its corners in line coordinates, shape (m, 2) [mm], and its place."""

    outline_mm: tuple[tuple[float, float], ...]
    place: str


def shaded_voids(
    frame: Frame, line_map: LineMap, low_mm: float, high_mm: float
) -> tuple[ShadedVoid, ...]:
    """Find the voids between two stations that are more than the gap between three cans.

    Cans that lie count as discs. None where there is no can, too many, or cans that stand in one
    place. The stretch is treated as one period between straight guides at their widest; faces
    within two diameters of its ends are left out, because the period is not real.
    """
    if not len(frame):
        return ()
    diameter = 2.0 * float(np.median(frame.radius_mm))
    low, high = low_mm - 3.0 * diameter, high_mm + 3.0 * diameter
    low, high = max(low, -3.0 * diameter), min(high, line_map.length_mm + 3.0 * diameter)
    if high <= low:
        return ()
    here = np.flatnonzero((frame.x_mm >= low) & (frame.x_mm < high))
    if not 3 <= here.size <= MAX_SHADED:
        return ()
    inside = (line_map.station_mm >= low) & (line_map.station_mm <= high)
    if not inside.any():
        return ()
    left = float(line_map.left_mm[inside].min())
    width = float(line_map.right_mm[inside].max()) - left
    x = frame.x_mm[here].astype(np.float64) - low
    y = frame.y_mm[here].astype(np.float64) - left
    centres = np.column_stack((x, y))[(y > 0.0) & (y < width)]
    near, far = 2.0 * diameter, high - low - 2.0 * diameter
    return tuple(
        ShadedVoid(tuple((low + u, left + v) for u, v in corners.tolist()), place)
        for corners, place in open_faces(centres, diameter, width, high - low)
        if near <= corners[:, 0].min() and corners[:, 0].max() <= far
        if -low <= corners[:, 0].mean() <= line_map.length_mm - low
    )
