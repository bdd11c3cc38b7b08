"""A header drilled for a chosen pitch: how many nozzles, and where."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError, positive
from packsim.line.spray import MAX_NOZZLES
from packsim.nozzles.lane_lines import checked_places
from packsim.nozzles.phase import best_phase
from packsim.nozzles.pitch import best_pitch

_END_TOL = 1e-9  # share of a pitch by which a line may lie beyond the last nozzle by rounding


LOW_OVER_SMALLEST: Final = 0.9
HIGH_OVER_LARGEST: Final = 1.25
"""Range of pitches looked at for the least distance of lanes from nozzles, over the smallest and
the largest distance of lanes: no pitch p is worse than p/2 off, so the shortest always wins if it
may be as short as it likes, and costs a nozzle for each."""


def nearest_row(lines_by_size_mm: Sequence[Floats], weights: Sequence[float]) -> Floats:
    """Return holes at the pitch that makes the distance of lanes from nozzles least.

    Parameters
    ----------
    lines_by_size_mm : sequence of ndarray
        Can lines of each size where its pack stands, shape (m,) each [mm].
    weights : sequence of float
        How much a millimetre matters for each [-].

    Returns
    -------
    ndarray, shape (n,)
        Nozzle places (`drill_header`), from the first to the last lane of any size [mm].
    """
    apart = [float(np.mean(np.diff(one))) for one in lines_by_size_mm if len(one) > 1] or [50.0]
    low, high = LOW_OVER_SMALLEST * min(apart), HIGH_OVER_LARGEST * max(apart)
    return drill_header(lines_by_size_mm, best_pitch(lines_by_size_mm, low, high, weights).pitch_mm)


def drill_header(lines_by_size_mm: Sequence[ArrayLike], pitch_mm: float) -> Floats:
    """Place a row of nozzles so that every size reaches its best alignment with little moving.

    Parameters
    ----------
    lines_by_size_mm : sequence of array_like
        Can lines of each size where its pack now stands, shape (m,) each [mm].
    pitch_mm : float
        Nozzle pitch [mm].

    Returns
    -------
    ndarray, shape (n,)
        Nozzle places in the frame of the lines given, rising [mm].

    Raises
    ------
    InputError
        If there is no size or line, or the row would need more nozzles than a header may have.

    Notes
    -----
    Each size is best at one phase of the row (`best_phase`). The row is put opposite the largest
    empty arc of those phases, which makes the longest move of any size least: (p − arc)/2. The
    row runs from the nozzle nearest the first line of any moved size to the one nearest the last.

    Examples
    --------
    >>> drill_header([[100.0, 160.0, 220.0]], 60.0)
    array([100., 160., 220.])
    """
    pitch = positive("pitch_mm", pitch_mm)
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
    return phase + pitch * np.arange(first, last + 1, dtype=np.float64)


def _nearest(place: float, pitch: float, inward: int) -> int:
    """Give the number of the nozzle nearest a place; of two equally near the inner one."""
    k = place / pitch
    return math.floor(k + 0.5 + _END_TOL) if inward > 0 else math.ceil(k - 0.5 - _END_TOL)
