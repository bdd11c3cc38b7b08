"""The best place of the can lines against an endless row of equally spaced nozzles."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.nozzles.lane_lines import checked_places

_TABLE_CELLS = 1_000_000  # pitches x lines sorted together: 8 MB
EQUAL_REL = 1e-7
"""Share of a pitch within which two arcs are equal: far above rounding, far below any drill."""


@dataclass(frozen=True, slots=True, eq=False)
class Phases:
    """For each pitch, where a nozzle should be for given lines and how well they are then met.

    Parameters
    ----------
    for_worst_mm : ndarray, shape (p,)
        Place of a nozzle, 0 up to the pitch, that makes the worst line's distance least [mm].
    worst_mm : ndarray, shape (p,)
        That least worst distance [mm].
    for_rms_mm : ndarray, shape (p,)
        Place of a nozzle that makes the root mean square distance least [mm].
    rms_mm : ndarray, shape (p,)
        That least root mean square distance [mm].
    """

    for_worst_mm: Floats
    worst_mm: Floats
    for_rms_mm: Floats
    rms_mm: Floats


def best_phase(lines_mm: ArrayLike, pitches_mm: ArrayLike) -> Phases:
    """Best phase of a nozzle row for a set of can lines, exactly, at each of many pitches.

    Parameters
    ----------
    lines_mm : array_like, shape (m,)
        Lines of can centres [mm].
    pitches_mm : array_like, shape (p,)
        Nozzle pitches, above 0 [mm].

    Returns
    -------
    Phases
        By pitch.

    Raises
    ------
    InputError
        If there is no line, a place is not finite, or a pitch is not above 0.

    Notes
    -----
    Derived here. Wrapped round a circle of circumference p the lines are points. The worst
    distance is least when the nozzle stands opposite the largest empty arc G: it is (p − G)/2.
    The mean square is least at the mean of the points unrolled from one of the m cuts between
    them, the cut with the least variance: for the best phase the cut opposite the nozzle is one
    of these, and any cut's variance is no less than the wrapped mean square it stands for.

    Examples
    --------
    >>> best_phase([0.0, 30.0, 60.0, 90.0], [60.0]).worst_mm  # every second line midway
    array([15.])
    """
    lines, pitches = checked_places("lines_mm", lines_mm), _pitches(pitches_mm)
    found = Phases(*np.empty((4, len(pitches))))
    for part, pitch, rest, gaps in _wrapped(lines, pitches):
        found.for_worst_mm[part] = _opposite_widest(rest, gaps, lines, pitch)
        found.worst_mm[part] = np.maximum((pitch - np.max(gaps, axis=1)) / 2.0, 0.0)
        found.for_rms_mm[part] = _least_square_phase(rest, pitch)
        off = rest - found.for_rms_mm[part][:, None]
        off -= pitch[:, None] * np.round(off / pitch[:, None])
        found.rms_mm[part] = np.sqrt(np.mean(off**2, axis=1))
    return found


def worst_at_best_phase_mm(lines_mm: ArrayLike, pitches_mm: ArrayLike) -> Floats:
    """Least worst misalignment at each of many pitches, (p − largest empty arc)/2.

    Parameters
    ----------
    lines_mm : array_like, shape (m,)
        Lines of can centres [mm].
    pitches_mm : array_like, shape (p,)
        Nozzle pitches, above 0 [mm].

    Returns
    -------
    ndarray, shape (p,)
        Worst distance at the best phase, as in `best_phase` [mm].
    """
    parts = _wrapped(checked_places("lines_mm", lines_mm), _pitches(pitches_mm))
    worst = [(pitch - np.max(gaps, axis=1)) / 2.0 for _, pitch, _, gaps in parts]
    return np.asarray(np.maximum(np.concatenate([*worst, np.empty(0)]), 0.0))


def _wrapped(lines: Floats, pitches: Floats) -> Iterator[tuple[slice, Floats, Floats, Floats]]:
    """Yield pitches in parts that fit a table, each part with two arrays of shape (p, m).

    They are the lines round the circle of each pitch, rising, and the empty arc after each line,
    the last one back to the first.
    """
    step = max(1, _TABLE_CELLS // len(lines))
    for k in range(0, len(pitches), step):
        pitch = pitches[k : k + step]
        rest = np.sort(np.mod(lines[None, :], pitch[:, None]), axis=1)
        arcs = np.diff(rest, axis=1, append=rest[:, :1] + pitch[:, None])
        yield slice(k, k + step), pitch, rest, arcs


def _opposite_widest(rest: Floats, gaps: Floats, lines: Floats, pitch: Floats) -> Floats:
    """Place opposite the widest empty arc; of equal arcs the one with a nozzle nearest the middle.

    Lines that stand about their middle have such arcs in pairs, and rounding must not choose.
    """
    p = pitch[:, None]
    places = rest + (gaps + p) / 2.0
    beside = places - (np.min(lines) + np.max(lines)) / 2.0
    beside = np.abs(beside - p * np.round(beside / p))
    widest = gaps >= np.max(gaps, axis=1, keepdims=True) - EQUAL_REL * p
    k = np.argmin(np.where(widest, beside, np.inf), axis=1)[:, None]
    return np.asarray(np.mod(np.take_along_axis(places, k, axis=1)[:, 0], pitch))


def _least_square_phase(rest: Floats, pitch: Floats) -> Floats:
    count = rest.shape[1]
    middle = rest - pitch[:, None] / 2.0  # smaller numbers, fewer digits lost in the variance
    turned = np.arange(count)  # the first k points go once round
    before = np.cumsum(middle, axis=1) - middle
    total = np.sum(middle, axis=1, keepdims=True)
    p = pitch[:, None]
    mean = (total + turned * p) / count
    square = (np.sum(middle**2, axis=1, keepdims=True) + 2.0 * p * before + turned * p**2) / count
    cut = np.argmin(square - mean**2, axis=1)[:, None]
    best = np.take_along_axis(mean, cut, axis=1)[:, 0] + pitch / 2.0
    return np.asarray(np.mod(best, pitch))


def _pitches(pitches_mm: ArrayLike) -> Floats:
    pitches = np.atleast_1d(np.asarray(pitches_mm, dtype=np.float64))
    good = np.isfinite(pitches) & (pitches > 0.0)
    if pitches.ndim != 1 or not np.all(good):
        raise InputError("pitches_mm", pitches_mm, "a row of finite pitches above 0")
    if math.isinf(float(np.sum(pitches))):
        raise InputError("pitches_mm", pitches_mm, "pitches of a plant's size")
    return pitches
