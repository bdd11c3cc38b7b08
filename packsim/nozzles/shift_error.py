"""What an error of the pack's sideways place does to the alignment with the nozzles."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.constants import ALIGN_TIE_MM, CONTACT_TOL_REL
from packsim.errors import finite, non_negative
from packsim.nozzles.lane_lines import checked_places, offsets_mm


@dataclass(frozen=True, slots=True)
class ShiftSensitivity:
    """What an error of the shift can do to the alignment.

    Parameters
    ----------
    worst_mm : float
        Largest distance of any line from its nozzle for any error within the band [mm].
    cost_per_mm : tuple of float
        How the worst distance changes with a shift to the left and to the right, each +1 or −1
        (mm per mm): +1 on both sides at a minimum.
    lanes_at_worst : int
        Lines whose distance is the worst one, to one part in a million of it.
    """

    worst_mm: float
    cost_per_mm: tuple[float, float]
    lanes_at_worst: int


def shift_sensitivity(
    lines_mm: ArrayLike, nozzles_mm: ArrayLike, shift_mm: float, error_mm: float
) -> ShiftSensitivity:
    """Find what an error of the shift by up to ``error_mm`` either way can do.

    Parameters
    ----------
    lines_mm, nozzles_mm : array_like, shapes (m,) and (k,)
        Can lines and nozzles [mm].
    shift_mm : float
        The shift aimed at [mm].
    error_mm : float
        Largest error of it, either way [mm].

    Returns
    -------
    ShiftSensitivity
        Worst distance within the band, slopes, and how many lines share the worst.

    Notes
    -----
    Every distance is a tent wave of slope ±1 in the shift, so the worst one grows by no more than
    the error; it reaches that bound exactly unless a line gets half way between two nozzles
    first. A line's maximum over the band is at an end of the band or at such a peak.
    """
    lines = checked_places("lines_mm", lines_mm) + finite("shift_mm", shift_mm)
    nozzles = np.sort(checked_places("nozzles_mm", nozzles_mm))
    error = non_negative("error_mm", error_mm)
    ends = np.concatenate([lines - error, lines + error])
    worst = float(np.max(np.abs(offsets_mm(ends, nozzles))))
    middles = (nozzles[1:] + nozzles[:-1]) / 2.0
    met = np.any(np.abs(lines[:, None] - middles[None, :]) <= error, axis=0)
    worst = max(worst, float(np.max(np.where(met, np.diff(nozzles) / 2.0, 0.0), initial=0.0)))
    off = offsets_mm(lines, nozzles)
    distance = np.abs(off)
    at_worst = distance >= np.max(distance) * (1.0 - CONTACT_TOL_REL)
    side = np.sign(off[at_worst])
    from_peak = np.abs(lines[at_worst, None] - middles[None, :])
    peak = np.min(from_peak, axis=1, initial=np.inf) <= ALIGN_TIE_MM
    right = 1.0 if np.any((side >= 0.0) & ~peak) else -1.0
    left = 1.0 if np.any((side <= 0.0) & ~peak) else -1.0
    return ShiftSensitivity(worst, (left, right), int(np.count_nonzero(at_worst)))
