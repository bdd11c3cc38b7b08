"""Finds one can among many: under a point, by its number, or the one with the most lean."""

import numpy as np

from packsim.passage import Frame


def nearest_can(frame: Frame, x_mm: float, y_mm: float) -> int | None:
    """Return the number of the can under a point, or None where there is none."""
    if not len(frame):
        return None
    away = np.hypot(frame.x_mm - x_mm, frame.y_mm - y_mm)
    at = int(np.argmin(away))
    return int(frame.id[at]) if away[at] <= 1.5 * frame.radius_mm[at] else None


def index_of(frame: Frame, number: int | None) -> int | None:
    """Return the place of a can in a frame's arrays, None where it is not there."""
    if number is None:
        return None
    found = np.flatnonzero(frame.id == number)
    return int(found[0]) if found.size else None


def worst_can(frame: Frame, low_mm: float, high_mm: float) -> int | None:
    """Return the number of the standing can with the most lean between two stations.

    The first of several equal ones is taken, so that the same frame gives the same can.
    """
    here = np.flatnonzero((frame.x_mm >= low_mm) & (frame.x_mm < high_mm) & (frame.role < 4))
    if not here.size:
        return None
    order = np.lexsort((frame.id[here], -frame.lean_rad[here], -frame.role[here].astype(np.int64)))
    return int(frame.id[here[order[0]]])
