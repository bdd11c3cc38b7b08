"""The sideways move of the whole pack that brings its can lines best onto the nozzles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.constants import ALIGN_TIE_MM
from packsim.errors import InputError
from packsim.nozzles.lane_lines import checked_places, offsets_mm

_TABLE_CELLS = 2_000_000  # lines x intervals looked at together: 16 MB, inside any cache budget


@dataclass(frozen=True, slots=True)
class BestShift:
    """The best sideways move of a pack for given nozzles, by two measures.

    Parameters
    ----------
    shift_for_worst_mm : float
        Move that makes the worst line's distance least, positive to the right [mm].
    worst_mm : float
        That least worst distance [mm].
    shift_for_rms_mm : float
        Move that makes the root mean square distance least [mm].
    rms_mm : float
        That least root mean square distance [mm].
    limited_by_room : bool
        Whether more room would allow a better value of either measure.
    """

    shift_for_worst_mm: float
    worst_mm: float
    shift_for_rms_mm: float
    rms_mm: float
    limited_by_room: bool


def best_shift(
    lines_mm: ArrayLike,
    nozzles_mm: ArrayLike,
    room_mm: tuple[float, float],
    weights: ArrayLike | None = None,
) -> BestShift:
    """Shift that brings the can lines best onto the nozzles, exactly.

    Parameters
    ----------
    lines_mm : array_like, shape (m,)
        Lines of can centres, from the mat's left edge [mm].
    nozzles_mm : array_like, shape (k,)
        Nozzle places, from the mat's left edge [mm]; one header, or several taken together.
    room_mm : tuple of float
        How far the pack may move to the left and to the right [mm], both 0 or more; infinite
        where nothing limits it.
    weights : array_like, shape (m,), optional
        Weight of each line in the root mean square, e.g. the share of cans on it [-]; equal when
        omitted. The worst line counts whatever its weight.

    Returns
    -------
    BestShift
        Both optima. Of shifts equally good to within `ALIGN_TIE_MM` the smallest move is taken,
        and the left one of two equally small.

    Raises
    ------
    InputError
        If there is no line or nozzle, a place is not finite, a room is negative, or the weights
        do not match the lines.

    Notes
    -----
    Derived here. The distance of line i from its nearest nozzle is a chain of tents in the shift
    s, with a zero where it meets a nozzle and a peak half way between two. Between two
    neighbouring breakpoints of all tents every line keeps its nozzle and its side: with z_i the
    shift that puts line i on its nozzle, the worst is max(A − s, s − B), A the largest z of the
    lines still to the left of theirs and B the smallest of those to the right, least at (A + B)/2
    cut to the interval; the mean square is Σw(s − z_i)², least at the mean of z_i cut likewise.
    The best interval is the global minimum. Since every tent has slope ±1, a shift error e costs
    no more than e in the worst line; and while no line changes its nozzle the root mean square
    becomes √(rms² + e²).

    Examples
    --------
    >>> best_shift([100.0, 166.0], [95.0, 155.0, 215.0], room_mm=(20.0, 20.0))
    BestShift(shift_for_worst_mm=-8.0, worst_mm=3.0, shift_for_rms_mm=-8.0, rms_mm=3.0, \
limited_by_room=False)
    """
    lines = checked_places("lines_mm", lines_mm)
    nozzles = np.sort(checked_places("nozzles_mm", nozzles_mm))
    share = _shares(weights, len(lines))
    low, high = _room(room_mm)
    edges = _edges(lines, nozzles, low, high)
    worst, worst_at, square, square_at = _by_interval(lines, nozzles, share, edges)
    allowed = (edges[:-1] >= low) & (edges[1:] <= high)
    shift, value = _least(worst_at[allowed], worst[allowed])
    rms_shift, rms = _least(square_at[allowed], np.sqrt(square[allowed]))
    freed = np.min(worst) < value - ALIGN_TIE_MM or np.sqrt(np.min(square)) < rms - ALIGN_TIE_MM
    return BestShift(shift, value, rms_shift, rms, bool(freed))


def _edges(lines: Floats, nozzles: Floats, low: float, high: float) -> Floats:
    """Every breakpoint of the tents in reach, with the limits of the room; rising.

    Looking further than the widest nozzle spacing, or than the present worst distance, brings
    nothing that a regular header has not shown already.
    """
    reach = float(max(np.max(np.diff(nozzles), initial=0.0), _worst(lines, nozzles)))
    first, last = nozzles[0] - np.max(lines), nozzles[-1] - np.min(lines)
    start = max(min(low, -reach), min(first, 0.0)) if np.isinf(low) else min(low, -reach)
    end = min(max(high, reach), max(last, 0.0)) if np.isinf(high) else max(high, reach)
    marks = np.concatenate([nozzles, (nozzles[1:] + nozzles[:-1]) / 2.0])
    points = (marks[:, None] - lines[None, :]).ravel()
    points = points[(points > start) & (points < end)]
    bounds = [start, end, *(b for b in (low, high) if np.isfinite(b))]
    return np.sort(np.concatenate([points, bounds]))


def _by_interval(
    lines: Floats, nozzles: Floats, share: Floats, edges: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Least worst and least mean square in every interval between edges, with their shifts."""
    count = len(edges) - 1
    worst, worst_at, square, square_at = (np.empty(count) for _ in range(4))
    step = max(1, _TABLE_CELLS // len(lines))
    for k in range(0, count, step):
        part = slice(k, min(k + step, count))
        start, end = edges[part], edges[k + 1 : part.stop + 1]
        middle = ((start + end) / 2.0)[:, None]
        met = middle - offsets_mm(lines[None, :] + middle, nozzles)
        still_left = met > middle
        upper = np.max(np.where(still_left, met, -np.inf), axis=1)
        lower = np.min(np.where(still_left, np.inf, met), axis=1)
        at = np.clip((upper + lower) / 2.0, start, end)
        worst_at[part], worst[part] = at, np.maximum(upper - at, at - lower)
        at = np.clip(met @ share, start, end)
        square_at[part], square[part] = at, ((met - at[:, None]) ** 2) @ share
    return worst, worst_at, square, square_at


def _least(shifts: Floats, values: Floats) -> tuple[float, float]:
    """Shift of the least value; of ties the smallest move, of those the left one."""
    tied = shifts[values <= np.min(values) + ALIGN_TIE_MM]
    tied = np.sort(tied[np.abs(tied) <= np.min(np.abs(tied)) + ALIGN_TIE_MM])
    return float(tied[0]) + 0.0, float(np.min(values))


def _worst(lines: Floats, nozzles: Floats) -> float:
    return float(np.max(np.abs(offsets_mm(lines, nozzles))))


def _room(room_mm: tuple[float, float]) -> tuple[float, float]:
    left, right = room_mm
    if not (left >= 0.0 and right >= 0.0):
        raise InputError("room_mm", room_mm, "0 or more to either side")
    return -float(left), float(right)


def _shares(weights: ArrayLike | None, count: int) -> Floats:
    given = np.ones(count) if weights is None else np.asarray(weights, dtype=np.float64)
    if given.shape != (count,) or not np.all(given >= 0.0) or not 0.0 < np.sum(given) < np.inf:
        raise InputError("weights", weights, f"{count} weights of 0 or more, not all 0")
    return np.asarray(given / np.sum(given), dtype=np.float64)
