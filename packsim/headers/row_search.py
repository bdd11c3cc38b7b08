"""The places of a row of equally spaced nozzles, searched for what the worst lane gets."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Final

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.headers.demand import Demand, score

_PHASES: Final = 16  # starts looked at within one pitch before the best are refined
_PITCH_STEP_MM: Final = 0.5  # likewise
HOLE_MM: Final = 0.1
"""Places are whole multiples of this from the mat's edge: what a shop reads off a drawing."""

_ASIDE_MM: Final = 3.0  # headers drilled aside by less are better drilled alike
_LIKELY: Final = 12  # counts, with the rows in line or aside, that are refined
_FEWEST_LANES: Final = 0.75  # share of the pack's width a row covers at least
APART_MM: Final = 10.0
"""Least distance of two holes in a pipe, and of one from its end (assumed: room for a nozzle and a
spanner)."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of equally spaced nozzles, one for each header of a side.

    Parameters
    ----------
    pitch_mm : float
        Nozzle pitch [mm].
    count : int
        Nozzles of each row.
    first_mm : tuple of float
        First nozzle of each row, from the mat's left edge [mm].
    """

    pitch_mm: float
    count: int
    first_mm: tuple[float, ...]

    @property
    def nozzles_mm(self) -> Floats:
        """Places of all nozzles, a row for each header, shape (rows, count) [mm]."""
        first = np.array(self.first_mm, dtype=np.float64)
        return np.asarray(first[:, None] + self.pitch_mm * np.arange(self.count))

    @property
    def in_line(self) -> bool:
        """Whether all rows are drilled alike."""
        return len(set(self.first_mm)) == 1


@dataclass(frozen=True, slots=True)
class Limits:
    """What a new header may be.

    Parameters
    ----------
    fewest, most : int
        Nozzles of each row.
    pipe_mm : tuple of float
        Places the outermost nozzles must stay between, from the mat's left edge [mm].
    rows : int
        Headers of the side.
    stagger : bool
        Whether they may stand aside of each other.
    pitch_mm : float, optional
        The pitch, where it is given [mm].
    least_mL : tuple of float
        Dose no can may get less than, by demand [mL].
    """

    fewest: int
    most: int
    pipe_mm: tuple[float, float]
    rows: int = 1
    stagger: bool = False
    pitch_mm: float | None = None
    least_mL: tuple[float, ...] = ()

    @property
    def aside(self) -> bool:
        """Whether there are rows that may stand aside of each other."""
        return self.stagger and self.rows > 1


def search(demands: Sequence[Demand], limits: Limits) -> tuple[list[tuple[float, Rows]], Floats]:
    """Search rows of nozzles for the best of each count.

    Parameters
    ----------
    demands : sequence of Demand
        What the cans take, all at once.
    limits : Limits
        What the header may be.

    Returns
    -------
    list of (float, Rows)
        The best of each count that gives enough, best first; empty where none does.
    ndarray, shape (p, 2)
        Pitches looked at, and the best score at each; nan where no row gives enough [mm], [-].

    Notes
    -----
    Every pitch in steps of half a millimetre, every count, 16 first holes and, where asked, 9
    steps of the stagger are looked at, with the pack at both ends and the middle of its wander;
    the best of the likely counts are then refined to `HOLE_MM`, nine places of the wander looked
    at. Against every row on a grid of tenths of a millimetre it loses nothing that matters
    (measured in tests); `bound` says how far any row could be better.
    """
    best: dict[tuple[int, bool], tuple[float, Rows]] = {}
    curve = []
    for pitch in _pitches(demands, limits):
        top = np.nan
        for value, rows in _at_pitch(demands, limits, pitch):
            top = value if np.isnan(top) else max(top, value)
            kind = rows.count, rows.in_line
            if kind not in best or value > best[kind][0]:
                best[kind] = value, rows
        curve.append((pitch, top))
    likely = sorted(best.values(), key=lambda one: -one[0])[:_LIKELY]
    found: dict[int, tuple[float, Rows]] = {}
    for value, rows in (_refined(demands, limits, one) for _, one in likely):
        if _enough(demands, limits, rows.nozzles_mm) and value > found.get(rows.count, (-9.0,))[0]:
            found[rows.count] = value, rows
    return sorted(found.values(), key=lambda one: -one[0]), np.array(curve).reshape(-1, 2)


def _pitches(demands: Sequence[Demand], limits: Limits) -> Floats:
    """Pitches at which some allowed count covers the pack, and the pipe is long enough."""
    if limits.pitch_mm is not None:
        return np.array([limits.pitch_mm])
    lines = np.concatenate([d.lines_mm for d in demands])
    span, reach = float(np.ptp(lines)), max(d.reach_mm for d in demands)
    low = _FEWEST_LANES * span / max(limits.most - 1, 1)
    high = min(span + 2.0 * reach, np.ptp(limits.pipe_mm)) / max(limits.fewest - 1, 1)
    low, high = max(low, APART_MM), max(min(high, 2.0 * reach), APART_MM)
    first = np.ceil(low / _PITCH_STEP_MM)
    return np.arange(first, max(high / _PITCH_STEP_MM, first) + 1.0) * _PITCH_STEP_MM


def _at_pitch(
    demands: Sequence[Demand], limits: Limits, pitch: float
) -> Iterator[tuple[float, Rows]]:
    """Yield the best rows of each count at one pitch, in line and aside.

    They are scored at three places of the wander.
    """
    points = [d.points_mm(3) for d in demands]
    ends = np.cumsum([0, *(len(p) for p in points)])[:-1]
    lines = np.concatenate([d.lines_mm for d in demands])
    middle, span = (lines.max() + lines.min()) / 2.0, float(np.ptp(lines))
    reach, step = max(d.reach_mm for d in demands), pitch / _PHASES
    wide = int((span / 2.0 + reach) / step) + 2 * _PHASES
    at = np.arange(-wide, wide + 1)
    caught = np.concatenate(
        [
            d.caught_mm(p, (middle + step * at)[:, None]) / d.even_mm
            for d, p in zip(demands, points, strict=True)
        ],
        axis=1,
    )
    up_to = np.concatenate([np.zeros((_PHASES, caught.shape[1])), caught])
    for k in range(_PHASES):  # each place with all those whole pitches to the left of it
        up_to[k::_PHASES] = np.cumsum(up_to[k::_PHASES], axis=0)
    aside = np.arange(_PHASES // 2 + 1) if limits.aside else np.zeros(1, int)
    each = (np.arange(limits.rows)[:, None] * aside + _PHASES // 2) % _PHASES - _PHASES // 2
    starts = np.arange(-_PHASES // 2, _PHASES // 2)[:, None] - each.mean(axis=0).round().astype(int)
    fewest = max(limits.fewest, int(_FEWEST_LANES * span / pitch) + 1)
    most = min(limits.most, int((span + 2.0 * reach) / pitch) + 1)
    weights = np.array([d.weight for d in demands])
    for count in range(fewest, most + 1):
        first = starts - (count - 1) * _PHASES // 2  # (starts, stagger), of a row without offset
        total = np.zeros((*first.shape, caught.shape[1]))
        for offset in each:
            at_first = first + offset + wide
            last = np.clip(at_first + (count - 1) * _PHASES, 0, len(at) - 1)
            total += up_to[last + _PHASES] - up_to[np.clip(at_first, 0, None)]
        least = np.minimum.reduceat(total, ends, axis=2) / limits.rows  # nozzles' worth
        values = np.min(1.0 - weights * (1.0 - least / count), axis=2)
        held = _in_pipe(limits, middle + step * (first + each[:, None].min(axis=0)), pitch, count)
        held &= _in_pipe(limits, middle + step * (first + each[:, None].max(axis=0)), pitch, count)
        for d, one in enumerate(demands):
            floor = limits.least_mL[d] / (one.mL_per_mm * one.even_mm) if limits.least_mL else 0.0
            held &= least[..., d] * limits.rows >= floor * (1.0 - 1e-3)
        values = np.where(held, values, -np.inf)
        for part in (slice(0, 1), slice(1, None)):
            if held[:, part].any():
                i, aside_by = np.unravel_index(np.argmax(values[:, part]), held[:, part].shape)
                turn = int(aside_by) + part.start
                places = middle + step * (first[i, turn] + each[:, turn])
                yield float(values[i, turn]), Rows(pitch, count, tuple(places.tolist()))


def _in_pipe(limits: Limits, first: Floats, pitch: float, count: int) -> Bools:
    low, high = limits.pipe_mm
    return np.asarray((first >= low - 1e-9) & (first + pitch * (count - 1) <= high + 1e-9))


def _enough(demands: Sequence[Demand], limits: Limits, nozzles: Floats) -> bool:
    low, high = limits.pipe_mm
    if nozzles.min() < low - 1e-9 or nozzles.max() > high + 1e-9:
        return False
    pairs = zip(demands, limits.least_mL, strict=True) if limits.least_mL else ()
    return all(d.least_mL(nozzles, 9) >= floor * (1.0 - 1e-9) for d, floor in pairs)


def _refined(demands: Sequence[Demand], limits: Limits, rows: Rows) -> tuple[float, Rows]:
    """Climb from one set of rows, pitch, middle and stagger in ever smaller steps."""
    rows = _moved_by(rows, 0.0, 0.0, 0.0, limits.pitch_mm)
    now = _enough(demands, limits, rows.nozzles_mm), score(demands, rows.nozzles_mm)
    turns = (-1, 0, 1) if not rows.in_line else (0,)
    pitches = (-1, 0, 1) if limits.pitch_mm is None else (0,)
    for step in (1.6, 0.4, 0.1):
        better = True
        while better:
            better = False
            for steps in product(pitches, (-1, 0, 1), turns):
                wider, right, aside = (step * one for one in steps)
                tried = _moved_by(rows, wider, right, aside, limits.pitch_mm)
                then = (
                    _enough(demands, limits, tried.nozzles_mm),
                    score(demands, tried.nozzles_mm),
                )
                if then[0] >= now[0] and then > (now[0], now[1] + 1e-9):
                    rows, now, better = tried, then, True
    if not rows.in_line and float(np.ptp(rows.first_mm)) < _ASIDE_MM:
        return _refined(demands, limits, replace(rows, first_mm=rows.first_mm[:1] * limits.rows))
    return now[1], rows


def _moved_by(
    rows: Rows, wider_mm: float, right_mm: float, aside_mm: float, keep: float | None
) -> Rows:
    """Return rows of another pitch about another middle, further aside, in whole `HOLE_MM`."""
    pitch = keep or round(max(float(whole(rows.pitch_mm + wider_mm)), APART_MM), 6)
    rank = np.arange(len(rows.first_mm)) - (len(rows.first_mm) - 1) / 2.0
    middle = np.array(rows.first_mm) + rows.pitch_mm * (rows.count - 1) / 2.0
    first = middle + right_mm + aside_mm * rank - pitch * (rows.count - 1) / 2.0
    return Rows(pitch, rows.count, tuple(np.round(whole(first), 6).tolist()))


def whole(mm: Any) -> Any:
    """Return lengths in whole multiples of `HOLE_MM` [mm]."""
    return np.round(np.asarray(mm) / HOLE_MM) * HOLE_MM
