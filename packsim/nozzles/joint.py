"""The one sideways move of a pack that serves several rows of nozzles at once.

Nozzles above and below the mat, or in several stages, must each be met: a line that stands well to
one row and badly to another is not aligned, so rows are never thrown together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.check import non_negative
from packsim.constants import ALIGN_TIE_MM
from packsim.errors import InputError
from packsim.nozzles.lane_lines import offsets_mm
from packsim.nozzles.shift import BestShift

_TABLE_CELLS = 500_000  # lines x intervals looked at together: a few MB


@dataclass(frozen=True, slots=True, eq=False)
class Facing:
    """Can lines and the row of nozzles they must meet.

    Parameters
    ----------
    lines_mm : ndarray, shape (m,)
        Lines of can centres, from the mat's left edge [mm].
    nozzles_mm : ndarray, shape (k,)
        Nozzle places from the same edge, rising [mm].
    weights : ndarray, shape (m,)
        Share of the cans on each line [-].
    """

    lines_mm: Floats
    nozzles_mm: Floats
    weights: Floats


def joint_now(facings: Sequence[Facing], shift_mm: float = 0.0) -> tuple[float, float]:
    """Worst and weighted root mean square misalignment of all rows at one shift [mm]."""
    off = _offsets(facings, np.array([shift_mm]))[0]
    square = float(off**2 @ _shares(facings))
    return float(np.max(np.abs(off))), float(np.sqrt(square))


def joint_shift(facings: Sequence[Facing], room_mm: tuple[float, float]) -> BestShift:
    """Shift that brings all can lines best onto all rows of nozzles, exactly.

    Parameters
    ----------
    facings : sequence of Facing
        At least one; those alike count as often as they come.
    room_mm : tuple of float
        How far the pack may move to the left and to the right [mm], both finite and 0 or more.

    Returns
    -------
    BestShift
        Worst over every line of every row, and the mean square over them, each row counting
        alike. Ties as in `best_shift`.

    Raises
    ------
    InputError
        If there is no row, or the room is negative or endless.

    Notes
    -----
    As in `packsim.nozzles.shift`, with the breakpoints of all rows together: between two
    neighbouring ones each line keeps its nozzle and its side in every row, so the worst distance
    is max(A − s, s − B) and the mean square a parabola. Rows alike are looked at once.

    Examples
    --------
    >>> row = np.array([0.0, 60.0])
    >>> both = [Facing(np.array([x]), row, np.ones(1)) for x in (4.0, 10.0)]
    >>> round(joint_shift(both, (20.0, 20.0)).shift_for_worst_mm, 6)
    -7.0
    """
    if not facings:
        raise InputError("facings", "none", "at least one row of nozzles")
    low = -non_negative("room_mm[0]", room_mm[0])
    high = non_negative("room_mm[1]", room_mm[1])
    each, share = _distinct(facings)
    reach = max(float(np.max(np.diff(f.nozzles_mm), initial=0.0)) for f in each)
    reach = max(reach, joint_now(each)[0])
    edges = _edges(each, (low, high), reach)
    worst, worst_at, square, square_at = _by_interval(each, share, edges)
    allowed = (edges[:-1] >= low) & (edges[1:] <= high)
    shift, value = _least(worst_at[allowed], worst[allowed])
    rms_shift, rms = _least(square_at[allowed], np.sqrt(square[allowed]))
    freed = np.min(worst) < value - ALIGN_TIE_MM or np.sqrt(np.min(square)) < rms - ALIGN_TIE_MM
    return BestShift(shift, value, rms_shift, rms, bool(freed))


def _shares(facings: Sequence[Facing]) -> Floats:
    """Weight of every line of every row, each row counting alike; sums to 1."""
    rows = [f.weights / np.sum(f.weights) / len(facings) for f in facings]
    return np.concatenate(rows)


def _distinct(facings: Sequence[Facing]) -> tuple[list[Facing], Floats]:
    """Rows that differ by more than rounding, and the weights of their lines."""
    groups: dict[bytes, list[Facing]] = {}
    for f in facings:
        key = np.round(np.concatenate([f.lines_mm, [np.inf], f.nozzles_mm]), 7).tobytes()
        groups.setdefault(key, []).append(f)
    rows = [sum(f.weights / np.sum(f.weights) for f in same) for same in groups.values()]
    return [same[0] for same in groups.values()], np.concatenate(rows) / len(facings)


def _edges(facings: Sequence[Facing], room: tuple[float, float], reach: float) -> Floats:
    """Every breakpoint of the tents within reach of the room, and the room's ends; rising."""
    start, end = min(room[0], -reach), max(room[1], reach)
    points = [np.array([start, end, *room])]
    for f in facings:
        marks = np.concatenate([f.nozzles_mm, (f.nozzles_mm[1:] + f.nozzles_mm[:-1]) / 2.0])
        points.append((marks[:, None] - f.lines_mm[None, :]).ravel())
    every = np.concatenate(points)
    return np.sort(every[(every >= start) & (every <= end)])


def _by_interval(
    facings: Sequence[Facing], share: Floats, edges: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Least worst and least mean square in every interval between edges, with their shifts."""
    found = [np.empty(len(edges) - 1) for _ in range(4)]
    step = max(1, _TABLE_CELLS // len(share))
    for k in range(0, len(edges) - 1, step):
        part = slice(k, min(k + step, len(edges) - 1))
        start, end = edges[part], edges[part.start + 1 : part.stop + 1]
        middle = (start + end) / 2.0
        met = middle[:, None] - _offsets(facings, middle)
        still_left = met > middle[:, None]
        upper = np.max(np.where(still_left, met, -np.inf), axis=1)
        lower = np.min(np.where(still_left, np.inf, met), axis=1)
        at = np.clip((upper + lower) / 2.0, start, end)
        found[0][part], found[1][part] = np.maximum(upper - at, at - lower), at
        at = np.clip(met @ share, start, end)
        found[2][part], found[3][part] = ((met - at[:, None]) ** 2) @ share, at
    return found[0], found[1], found[2], found[3]


def _offsets(facings: Sequence[Facing], shifts: Floats) -> Floats:
    """Signed distance of every line of every row from its nozzle at each shift, (n, lines)."""
    columns = [offsets_mm(f.lines_mm[None, :] + shifts[:, None], f.nozzles_mm) for f in facings]
    return np.concatenate(columns, axis=1)


def _least(shifts: Floats, values: Floats) -> tuple[float, float]:
    """Shift of the least value; of ties the smallest move, of those the left one."""
    tied = shifts[values <= np.min(values) + ALIGN_TIE_MM]
    tied = np.sort(tied[np.abs(tied) <= np.min(np.abs(tied)) + ALIGN_TIE_MM])
    return float(tied[0]) + 0.0, float(np.min(values))
