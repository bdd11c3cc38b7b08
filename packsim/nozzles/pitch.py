"""The nozzle pitch that suits one can size best, or several sizes on one line."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.constants import PITCH_TOL_MM
from packsim.errors import InputError, non_negative, positive
from packsim.nozzles.lane_lines import checked_places
from packsim.nozzles.minimax import march, minimax
from packsim.nozzles.phase import best_phase, worst_at_best_phase_mm


@dataclass(frozen=True, slots=True)
class ExactPitch:
    """A nozzle pitch in a whole-number ratio to the pitch of the can lines.

    Parameters
    ----------
    lines, pitches : int
        So many line pitches are so many nozzle pitches, in lowest terms.
    pitch_mm : float
        Nozzle pitch [mm].
    worst_mm : float
        Least worst misalignment of an endless row of lines [mm].
    """

    lines: int
    pitches: int
    pitch_mm: float
    worst_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class PitchChoice:
    """The best nozzle pitch for one or several can sizes.

    Parameters
    ----------
    pitch_mm : float
        The pitch [mm].
    worst_mm : float
        Largest weighted worst misalignment of any size, each at its own best shift [mm].
    per_size_worst_mm, per_size_rms_mm : ndarray, shape (s,)
        Worst and root mean square misalignment of each size at that pitch, unweighted, each at
        its own best shift [mm].
    band_mm : tuple of float
        Pitches around the best between which the worst stays within the allowance [mm].
    certified_mm : float
        No pitch in the range is better by more than this [mm].
    """

    pitch_mm: float
    worst_mm: float
    per_size_worst_mm: Floats
    per_size_rms_mm: Floats
    band_mm: tuple[float, float]
    certified_mm: float


def exact_pitches(
    line_pitch_mm: float, low_mm: float, high_mm: float, terms: int = 4
) -> tuple[ExactPitch, ...]:
    """Pitches in small whole-number ratio to the line pitch, best first.

    Parameters
    ----------
    line_pitch_mm : float
        Pitch a of the can lines: D√3/2 lengthwise, D/2 crosswise [mm].
    low_mm, high_mm : float
        Range of pitches to list [mm].
    terms : int
        Largest number of line or nozzle pitches in a ratio, at least 1.

    Returns
    -------
    tuple of ExactPitch
        By worst misalignment, then the longer pitch first: fewer nozzles.

    Notes
    -----
    Derived here. Let u line pitches be v nozzle pitches in lowest terms, p = a u/v. Wrapped round
    p the lines fall on u points a/v apart, so the worst misalignment is (p − a/v)/2 =
    a (u − 1)/(2v): none when the nozzle pitch is the line pitch or a whole part of it (u = 1).

    Examples
    --------
    >>> [(e.pitch_mm, e.worst_mm) for e in exact_pitches(60.0, 25.0, 130.0, terms=2)]
    [(60.0, 0.0), (30.0, 0.0), (120.0, 30.0)]
    """
    line = positive("line_pitch_mm", line_pitch_mm)
    low, high = _range(low_mm, high_mm)
    if terms < 1:
        raise InputError("terms", terms, "a whole number of 1 or more")
    ratios = {Fraction(u, v) for u in range(1, terms + 1) for v in range(1, terms + 1)}
    found = []
    for ratio in ratios:
        pitch = line * ratio.numerator / ratio.denominator
        if low <= pitch <= high:
            worst = (pitch - line / ratio.denominator) / 2.0
            found.append(ExactPitch(ratio.numerator, ratio.denominator, pitch, worst))
    return tuple(sorted(found, key=lambda e: (e.worst_mm, -e.pitch_mm)))


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
    allowance_mm: float = 1.0,
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
    allowance_mm : float
        How much worse than best the band of pitches may be [mm].

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
    allowance = non_negative("allowance_mm", allowance_mm)

    def values(pitches: Floats) -> Floats:
        return pitch_curve(sizes, pitches, weight)

    pitch, best = minimax(values, _turning_pitches(sizes, low, high))
    spans = np.array([np.ptp(s) for s in sizes])
    steepest = float(np.max(weight * (1.0 + spans / low)))
    level = best + allowance
    band = tuple(march(values, pitch, end, level, steepest) for end in (low, high))
    found = [best_phase(s, [pitch]) for s in sizes]
    return PitchChoice(
        pitch_mm=pitch,
        worst_mm=best,
        per_size_worst_mm=np.array([f.worst_mm[0] for f in found]),
        per_size_rms_mm=np.array([f.rms_mm[0] for f in found]),
        band_mm=(band[0], band[1]),
        certified_mm=PITCH_TOL_MM,
    )


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
