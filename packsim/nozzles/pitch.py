"""The nozzle pitch that suits one can size best, or several sizes on one line."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError, positive
from packsim.nozzles.lane_lines import checked_places
from packsim.nozzles.minimax import minimax
from packsim.nozzles.phase import worst_at_best_phase_mm


class PitchChoice(NamedTuple):
    """The nozzle pitch whose worst misalignment is least.

    Parameters
    ----------
    pitch_mm : float
        The pitch [mm].
    worst_mm : float
        Largest weighted worst misalignment of any size, each at its own best shift [mm]; no pitch
        of the range is better by more than `PITCH_TOL_MM`.
    """

    pitch_mm: float
    worst_mm: float


def pitch_curve(
    lines_by_size_mm: Sequence[ArrayLike], pitches_mm: ArrayLike, weights: ArrayLike | None = None
) -> Floats:
    """Weighted worst misalignment of every size at every pitch, each size at its own best shift.

    Parameters
    ----------
    lines_by_size_mm : sequence of array_like
        Can lines of each size, shape (m,) each [mm].
    pitches_mm : array_like, shape (p,)
        Nozzle pitches [mm].
    weights : array_like, shape (s,), optional
        How much a millimetre matters for each size, above 0 [-]; 1 each when omitted.

    Returns
    -------
    ndarray, shape (p, s)
        Weight times worst misalignment of an endless row of nozzles [mm].
    """
    weight = _weights(weights, len(lines_by_size_mm))
    columns = [worst_at_best_phase_mm(lines, pitches_mm) for lines in lines_by_size_mm]
    return np.asarray(np.column_stack(columns) * weight)


def best_pitch(
    lines_by_size_mm: Sequence[ArrayLike],
    low_mm: float,
    high_mm: float,
    weights: ArrayLike | None = None,
) -> PitchChoice:
    """Nozzle pitch whose worst misalignment, over all sizes, is least.

    Parameters
    ----------
    lines_by_size_mm : sequence of array_like
        Can lines of each size, shape (m,) each; one size or several [mm].
    low_mm, high_mm : float
        Range of pitches allowed; a short pitch always aligns well and costs nozzles [mm].
    weights : array_like, shape (s,), optional
        How much a millimetre matters for each size, above 0 [-]; 1 each when omitted.

    Returns
    -------
    PitchChoice
        The pitch; of equally good ones the longest found, which needs the fewest nozzles.

    Raises
    ------
    InputError
        If there is no size or line, the range is empty, or a weight is not above 0.

    Notes
    -----
    Derived here. The worst misalignment of one size, (p − G)/2, is concave in the pitch between
    two neighbouring pitches that divide the distance of a pair of its lines: there the order of
    the wrapped lines is fixed, every arc is linear and the largest is convex. So for one size
    the minimum stands at such a pitch or at an end of the range, and is exact. For several sizes
    the chords of the concave pieces bound the largest from below; intervals whose bound is above
    the best value found are dropped and the others split until the rest differs by less than
    `PITCH_TOL_MM`. The row of nozzles is taken as long enough and the shift as free; see
    `packsim.nozzles.drilling` for the finite header.
    """
    low, high = _range(low_mm, high_mm)
    sizes = [checked_places(f"lines_by_size_mm[{i}]", s) for i, s in enumerate(lines_by_size_mm)]
    weight = _weights(weights, len(sizes))

    def values(pitches: Floats) -> Floats:
        return pitch_curve(sizes, pitches, weight)

    # an arc between two lines turns as fast as their wraps differ
    steepest = max((1.0 + np.ptp(s) / (2.0 * low)) * w for s, w in zip(sizes, weight, strict=True))
    return PitchChoice(*minimax(values, _turning_pitches(sizes, low, high), float(steepest)))


def _turning_pitches(sizes: list[Floats], low: float, high: float) -> Floats:
    """Pitches in the range that divide the distance of two lines of a size; with both ends."""
    found = [np.array([low, high])]
    for lines in sizes:
        apart = np.unique(np.round(np.abs(lines[:, None] - lines[None, :]), 9))
        found.extend(apart / k for k in range(1, int(apart[-1] / low) + 1))
    points = np.unique(np.concatenate(found))
    return points[(points >= low) & (points <= high)]


def _range(low_mm: float, high_mm: float) -> tuple[float, float]:
    low, high = positive("low_mm", low_mm), positive("high_mm", high_mm)
    if high < low:
        raise InputError("high_mm", high_mm, f"at least low_mm = {low_mm}")
    return low, high


def _weights(weights: ArrayLike | None, count: int) -> Floats:
    if count == 0:
        raise InputError("lines_by_size_mm", "none", "at least one can size")
    given = np.ones(count) if weights is None else np.asarray(weights, dtype=np.float64)
    if given.shape != (count,) or not np.all(np.isfinite(given) & (given > 0.0)):
        raise InputError("weights", weights, f"{count} weights above 0")
    return given
