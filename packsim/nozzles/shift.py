"""The sideways move of the whole pack that brings its can lines best onto the nozzles.

Nozzles above and below the mat, or in several stages, must each be met: a line that stands well to
one row and badly to another is not aligned, so rows are never thrown together.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.constants import ALIGN_TIE_MM, CONTACT_TOL_REL
from packsim.errors import InputError, finite, non_negative
from packsim.nozzles.lane_lines import checked_places, offsets_mm

_TABLE_CELLS = 500_000  # lines x intervals looked at together: a few MB


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
        Share of the cans on each line [-]; the worst line counts whatever its weight.
    """

    lines_mm: Floats
    nozzles_mm: Floats
    weights: Floats

    def __post_init__(self) -> None:
        lines, weights = checked_places("lines_mm", self.lines_mm), self.weights
        checked_places("nozzles_mm", self.nozzles_mm)
        if weights.shape != lines.shape or weights.min() < 0.0 or not 0.0 < weights.sum() < np.inf:
            allowed = f"{len(lines)} weights of 0 or more, not all 0"
            raise InputError("weights", weights.shape, allowed)


def joint_now(facings: Sequence[Facing], shift_mm: float = 0.0) -> tuple[float, float]:
    """Worst and weighted root mean square misalignment of all rows at one shift [mm]."""
    off = _offsets(facings, np.array([shift_mm]))[:, 0]
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
        alike. Of shifts equally good to within `ALIGN_TIE_MM` the smallest move is taken, and the
        left one of two equally small.

    Raises
    ------
    InputError
        If there is no row, or the room is negative or endless.

    Notes
    -----
    Derived here. The distance of line i from its nearest nozzle is a chain of tents in the shift
    s, with a zero where it meets a nozzle and a peak half way between two. Between two
    neighbouring breakpoints of all tents of all rows every line keeps its nozzle and its side: with
    z_i the shift that puts line i on its nozzle, the worst is max(A − s, s − B), A the largest z of
    the lines still to the left of theirs and B the smallest of those to the right, least at
    (A + B)/2 cut to the interval; the mean square is Σw(s − z_i)², least at the mean of z_i cut
    likewise. The best interval is the global minimum. Rows alike are looked at once.

    Examples
    --------
    >>> row = np.array([0.0, 60.0])
    >>> both = [Facing(np.array([x]), row, np.ones(1)) for x in (4.0, 10.0)]
    >>> round(joint_shift(both, (20.0, 20.0)).shift_for_worst_mm, 6)
    -7.0
    """
    if not facings:
        raise InputError("facings", "none", "at least one row of nozzles")
    low, high = -room_mm[0], float(room_mm[1])
    if not -np.inf < low <= 0.0 <= high < np.inf:
        raise InputError("room_mm", room_mm, "0 or more to either side, and finite")
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


def with_error(
    facings: Sequence[Facing], shift_mm: float, error_mm: float
) -> tuple[float, tuple[float, float]]:
    """Return what an error of the shift by up to ``error_mm`` either way can do.

    Parameters
    ----------
    facings : sequence of Facing
        At least one.
    shift_mm : float
        The shift aimed at [mm].
    error_mm : float
        Largest error of it, either way [mm].

    Returns
    -------
    worst_mm : float
        Largest distance of any line from its nozzle for any error within the band [mm].
    cost_per_mm : tuple of float
        How the worst distance changes with a shift to the left and to the right, each +1 or −1
        (mm per mm): +1 on both sides at a minimum.

    Notes
    -----
    Every distance is a tent wave of slope ±1 in the shift, so the worst one grows by no more than
    the error; it reaches that bound exactly unless a line gets half way between two nozzles
    first. A line's maximum over the band is at an end of the band or at such a peak.
    """
    error = non_negative("error_mm", error_mm)
    now = [joint_now([f], finite("shift_mm", shift_mm))[0] for f in facings]
    worst, left, right = 0.0, -1.0, -1.0
    for f, here in zip(facings, now, strict=True):
        lines, nozzles = f.lines_mm + shift_mm, f.nozzles_mm
        ends = np.concatenate([lines - error, lines + error])
        worst = max(worst, float(np.max(np.abs(offsets_mm(ends, nozzles)))))
        middles = (nozzles[1:] + nozzles[:-1]) / 2.0
        met = np.any(np.abs(lines[:, None] - middles[None, :]) <= error, axis=0)
        worst = max(worst, float(np.max(np.where(met, np.diff(nozzles) / 2.0, 0.0), initial=0.0)))
        if here < max(now) - ALIGN_TIE_MM:
            continue
        off = offsets_mm(lines, nozzles)
        at_worst = np.abs(off) >= here * (1.0 - CONTACT_TOL_REL)
        side = np.sign(off[at_worst])
        from_peak = np.abs(lines[at_worst, None] - middles[None, :])
        peak = np.min(from_peak, axis=1, initial=np.inf) <= ALIGN_TIE_MM
        left = 1.0 if np.any((side <= 0.0) & ~peak) else left
        right = 1.0 if np.any((side >= 0.0) & ~peak) else right
    if max(now) <= ALIGN_TIE_MM:  # every line on its nozzle: any move costs as much as it is
        left = right = 1.0
    return worst, (left, right)


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
    """Every breakpoint of the tents within reach of the room, and the room's ends; rising.

    Looking further than the widest nozzle spacing, or than the present worst distance, brings
    nothing that a regular header has not shown already.
    """
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
        met = middle - _offsets(facings, middle)
        still_left = met > middle
        upper = np.max(np.where(still_left, met, -np.inf), axis=0)
        lower = np.min(np.where(still_left, np.inf, met), axis=0)
        at = np.clip((upper + lower) / 2.0, start, end)
        # rounding may put both sides a hair under 0, and no distance is
        found[0][part], found[1][part] = np.maximum(0.0, np.maximum(upper - at, at - lower)), at
        at = np.clip(share @ met, start, end)
        found[2][part], found[3][part] = share @ (met - at) ** 2, at
    return found[0], found[1], found[2], found[3]


def _offsets(facings: Sequence[Facing], shifts: Floats) -> Floats:
    """Signed distance of every line of every row from its nozzle at each shift, (lines, n)."""
    return np.concatenate([offsets_mm(f.lines_mm[:, None] + shifts, f.nozzles_mm) for f in facings])


def _least(shifts: Floats, values: Floats) -> tuple[float, float]:
    """Shift of the least value; of ties the smallest move, of those the left one."""
    tied = shifts[values <= np.min(values) + ALIGN_TIE_MM]
    tied = np.sort(tied[np.abs(tied) <= np.min(np.abs(tied)) + ALIGN_TIE_MM])
    return float(tied[0]) + 0.0, float(np.min(values))
