"""How fast all cans go and how far each of them shakes, with errors from what is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.look.followed import Moment, Step
from packsim.look.known import TWO_SIDED, Known, mean_of_parts

_PARTS: Final = 6
"""Parts of the pack along travel whose shaking is compared, for its error."""

_LEAST_MOVES: Final = 60


def slope_of(
    ordered: Sequence[Moment], steps_mm: Sequence[float], walk: float, *, of_scale: bool = False
) -> Known | None:
    """Mean speed of what moved by so much from picture to picture, from its residuals [mm/s].

    Each picture is off by an error of its own; what wanders besides, by the sum in `measure_film`
    or as the mean of cans that each go their own way does, ``walk`` [mm²/s], counts too.
    """
    from scipy.special import stdtrit

    count = len(steps_mm) + 1
    if count < 4:
        return None
    time = np.array([one.time_s for one in ordered], dtype=np.float64)
    time -= time.mean()
    at = np.concatenate(([0.0], np.cumsum(steps_mm)))
    square = float(time @ time)
    slope = float(time @ at) / square
    left = at - at.mean() - slope * time
    error2 = float(left @ left) / (count - 2) / square
    off = np.asarray(steps_mm) - slope * np.diff(time)
    wanders = float((off**2).mean() + 2.0 * (off[:-1] * off[1:]).mean())
    whole_s = float(np.ptp(time))
    error2 += max(0.0, wanders * len(off) / whole_s, walk) / whole_s
    scale = max(one.looked.seen.scale_error for one in ordered) if of_scale else 0.0
    within = float(stdtrit(count - 2, 0.975)) * math.sqrt(error2)
    return Known(slope, math.hypot(within, TWO_SIDED * scale * slope))


def walk_of(steps: Sequence[Step], shake: tuple[Known, Known] | None) -> tuple[float, float]:
    """How the mean of all cans wanders as each shakes, along and across [mm²/s]."""
    if shake is None:
        return 0.0, 0.0
    cans = float(np.mean([len(one.pairs) for one in steps]))
    along, across = (max(0.0, one.value + one.within) / cans for one in shake)
    return along, across


def shake_of(ordered: Sequence[Moment], steps: Sequence[Step]) -> tuple[Known, Known] | None:
    """Mean square of moves in a second, along and across, from parts of the pack [mm²]."""
    if len(steps) < 2:
        return None
    squares, products, where, where_two = [], [], [], []
    travelled = 0.0
    before = np.full((len(ordered[0].looked.seen), 2), np.nan)
    for moment, step in zip(ordered, steps, strict=False):
        place = moment.looked.seen.centres_mm[step.pairs[:, 0], 0] - travelled
        squares.append(step.moved_mm**2)
        where.append(place)
        earlier = before[step.pairs[:, 0]]
        told = np.isfinite(earlier[:, 0])
        products.append((earlier * step.moved_mm)[told])
        where_two.append(place[told])
        after = int(step.pairs[:, 1].max()) + 1
        before = np.full((max(after, _most(ordered)), 2), np.nan)
        before[step.pairs[:, 1]] = step.moved_mm
        travelled += step.travel_mm
    return _in_a_second(
        (np.concatenate(squares), np.concatenate(where)),
        (np.concatenate(products), np.concatenate(where_two)),
        float(np.mean([one.time_s for one in steps])),
    )


def _most(ordered: Sequence[Moment]) -> int:
    return max(len(one.looked.seen) for one in ordered)


def _in_a_second(
    squares: tuple[Floats, Floats], products: tuple[Floats, Floats], time_s: float
) -> tuple[Known, Known] | None:
    """Compare parts of the pack along travel, each with moves and the products of two of them."""
    (square, at), (product, at_two) = squares, products
    if len(product) < _LEAST_MOVES:
        return None
    ends = np.quantile(at, np.linspace(0.0, 1.0, _PARTS + 1)[1:-1])
    part, part_two = np.searchsorted(ends, at), np.searchsorted(ends, at_two)
    if min(np.bincount(part_two, minlength=_PARTS)) < _LEAST_MOVES // _PARTS // 2:
        return None
    each = [
        (square[part == k].mean(axis=0) + 2.0 * product[part_two == k].mean(axis=0)) / time_s
        for k in range(_PARTS)
    ]
    along, across = np.array(each).T
    return mean_of_parts(along.tolist()), mean_of_parts(across.tolist())


def root_of(square: Known) -> Known:
    """Return the root of a mean square; where it is below its error, half the most it may be."""
    if square.value <= square.within:
        most = math.sqrt(max(0.0, square.value + square.within))
        return Known(most / 2.0, most / 2.0)
    value = math.sqrt(square.value)
    return Known(value, square.within / (2.0 * value))
