"""A header drilled for a chosen pitch: how many nozzles, where, and what a drill error costs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError, non_negative, positive
from packsim.line.spray import MAX_NOZZLES
from packsim.nozzles.lane_lines import checked_places, misalignment
from packsim.nozzles.phase import best_phase

_END_TOL = 1e-9  # share of a pitch by which a line may lie beyond the last nozzle by rounding


@dataclass(frozen=True, slots=True, eq=False)
class Drilling:
    """Where to drill a header that serves one or several can sizes.

    Parameters
    ----------
    positions_mm : ndarray, shape (n,)
        Nozzle places in the frame of the lines given, rising; all from one datum, so that drill
        errors do not add up [mm].
    pitch_mm : float
        Nozzle pitch [mm].
    tolerance_mm : float
        Plus/minus on each place from the datum [mm].
    shifts_mm : ndarray, shape (s,)
        Sideways move of each size's pack that puts it on the nozzles, positive to the right [mm].
    worst_mm : ndarray, shape (s,)
        Worst misalignment of each size after its move, holes as drawn [mm].
    worst_with_tolerance_mm : ndarray, shape (s,)
        The most it can be with every hole within its tolerance [mm].
    """

    positions_mm: Floats
    pitch_mm: float
    tolerance_mm: float
    shifts_mm: Floats
    worst_mm: Floats
    worst_with_tolerance_mm: Floats


def drill_header(
    lines_by_size_mm: Sequence[ArrayLike], pitch_mm: float, tolerance_mm: float = 0.5
) -> Drilling:
    """Place a row of nozzles so that every size reaches its best alignment with little moving.

    Parameters
    ----------
    lines_by_size_mm : sequence of array_like
        Can lines of each size where its pack now stands, shape (m,) each [mm].
    pitch_mm : float
        Nozzle pitch [mm].
    tolerance_mm : float
        Plus/minus of a hole's place [mm].

    Returns
    -------
    Drilling
        Positions, and the move and misalignment of each size.

    Raises
    ------
    InputError
        If there is no size or line, or the row would need more nozzles than a header may have.

    Notes
    -----
    Each size is best at one phase of the row (`best_phase`). The row is put opposite the largest
    empty arc of those phases, which makes the longest move of any size least: (p − arc)/2. The
    row runs from the nozzle nearest the first line of any moved size to the one nearest the last.
    A hole off by t moves a line's distance by no more than t.

    Examples
    --------
    >>> row = drill_header([[100.0, 160.0, 220.0]], 60.0)
    >>> row.positions_mm, row.worst_mm
    (array([100., 160., 220.]), array([0.]))
    """
    pitch = positive("pitch_mm", pitch_mm)
    tolerance = non_negative("tolerance_mm", tolerance_mm)
    if not lines_by_size_mm:
        raise InputError("lines_by_size_mm", "none", "at least one can size")
    sizes = [checked_places(f"lines_by_size_mm[{i}]", s) for i, s in enumerate(lines_by_size_mm)]
    phases = np.array([best_phase(lines, [pitch]).for_worst_mm[0] for lines in sizes])
    phase = float(best_phase(phases, [pitch]).for_worst_mm[0])
    shifts = phase - phases
    shifts = np.asarray(shifts - pitch * np.round(shifts / pitch), dtype=np.float64)
    moved = [lines + shift for lines, shift in zip(sizes, shifts, strict=True)]
    first = _nearest(min(float(np.min(m)) for m in moved) - phase, pitch, 1)
    last = max(first, _nearest(max(float(np.max(m)) for m in moved) - phase, pitch, -1))
    if last - first >= MAX_NOZZLES:
        raise InputError("pitch_mm", pitch_mm, f"a pitch that needs at most {MAX_NOZZLES} nozzles")
    positions = phase + pitch * np.arange(first, last + 1, dtype=np.float64)
    worst = np.array([misalignment(m, positions).worst_mm for m in moved])
    return Drilling(
        positions_mm=positions,
        pitch_mm=pitch,
        tolerance_mm=tolerance,
        shifts_mm=shifts,
        worst_mm=worst,
        worst_with_tolerance_mm=worst + tolerance,
    )


def _nearest(place: float, pitch: float, inward: int) -> int:
    """Give the number of the nozzle nearest a place; of two equally near the inner one."""
    k = place / pitch
    return math.floor(k + 0.5 + _END_TOL) if inward > 0 else math.ceil(k - 0.5 - _END_TOL)
