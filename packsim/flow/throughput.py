"""Cans per minute and dwell, and which of them a size change keeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from packsim.errors import non_negative, one_of, positive
from packsim.line import Mat
from packsim.pack.state import Pack

KEEP: Final = ("rate", "dwell")
"""What a size change leaves as it was: cans per minute, or time in every stage."""


@dataclass(frozen=True, slots=True)
class CansFlow:
    """How fast cans come through: what lies on a metre of mat, and how fast the mat goes.

    Parameters
    ----------
    cans_per_m : float
        Cans per metre of mat [1/m]; 0 where nothing fits.
    speed_mm_per_s : float
        Mat speed [mm/s].

    Examples
    --------
    >>> flow = CansFlow(400.0, 100.0)
    >>> flow.cans_per_min, flow.dwell_s(3000.0)
    (2400.0, 30.0)
    """

    cans_per_m: float
    speed_mm_per_s: float

    def __post_init__(self) -> None:
        non_negative("cans_per_m", self.cans_per_m)
        positive("speed_mm_per_s", self.speed_mm_per_s)

    @property
    def cans_per_min(self) -> float:
        """Cans per minute [1/min]."""
        return rate_per_min(self.cans_per_m, self.speed_mm_per_s)

    def dwell_s(self, length_mm: float) -> float:
        """Time a can spends in a stage of this length [s]."""
        return dwell_s(length_mm, self.speed_mm_per_s)

    def keeping_rate(self, cans_per_m: float) -> CansFlow:
        """Return the flow of another pack at the same cans per minute; the speed changes."""
        return CansFlow(cans_per_m, speed_for_rate(cans_per_m, self.cans_per_min))

    def keeping_dwell(self, cans_per_m: float) -> CansFlow:
        """Return the flow of another pack at the same speed; the cans per minute change."""
        return CansFlow(cans_per_m, self.speed_mm_per_s)


def rate_per_min(cans_per_m: float, speed_mm_per_s: float) -> float:
    """Cans per minute, cans per metre × speed [1/min].

    Parameters
    ----------
    cans_per_m : float
        Cans per metre of mat [1/m].
    speed_mm_per_s : float
        Mat speed [mm/s].

    Returns
    -------
    float
        Cans per minute [1/min]. 1 mm/s is 0.06 m/min.

    Examples
    --------
    >>> rate_per_min(400.0, 100.0)
    2400.0
    """
    speed_m_per_min = positive("speed_mm_per_s", speed_mm_per_s) * 60.0 / 1000.0
    return non_negative("cans_per_m", cans_per_m) * speed_m_per_min


def dwell_s(length_mm: float, speed_mm_per_s: float) -> float:
    """Time a can spends in a stage, length / speed [s].

    Parameters
    ----------
    length_mm : float
        Length of the stage along travel [mm].
    speed_mm_per_s : float
        Mat speed [mm/s].

    Returns
    -------
    float
        Dwell [s].
    """
    return positive("length_mm", length_mm) / positive("speed_mm_per_s", speed_mm_per_s)


def speed_for_rate(cans_per_m: float, cans_per_min: float) -> float:
    """Mat speed that brings a number of cans per minute [mm/s].

    Parameters
    ----------
    cans_per_m : float
        Cans per metre of mat, above 0 [1/m].
    cans_per_min : float
        Cans per minute wanted, above 0 [1/min].

    Returns
    -------
    float
        Speed [mm/s], the inverse of `rate_per_min`.

    Raises
    ------
    InputError
        If either is not above 0; a pack that does not fit has no such speed.

    Examples
    --------
    >>> speed_for_rate(400.0, 2400.0)
    100.0
    """
    metres_per_min = positive("cans_per_min", cans_per_min) / positive("cans_per_m", cans_per_m)
    return metres_per_min * 1000.0 / 60.0


def pack_flow(pack: Pack, mat: Mat) -> CansFlow:
    """Return the flow of a pack on a mat at the mat's speed; 0 cans if nothing fits."""
    return CansFlow(pack.cans_per_metre if pack.fits else 0.0, mat.speed_mm_per_s)


def flow_after_size_change(before: CansFlow, cans_per_m: float, keep: str) -> CansFlow:
    """Return the flow of the new size, keeping either the rate or the dwell.

    Parameters
    ----------
    before : CansFlow
        Flow of the size that ran.
    cans_per_m : float
        Cans per metre of the new size [1/m].
    keep : {"rate", "dwell"}
        Same cans per minute at a new speed, so every dwell changes by the ratio of cans per metre;
        or the same speed, so the dwells stay and the cans per minute change by it.

    Returns
    -------
    CansFlow
        The new flow.

    Raises
    ------
    InputError
        If ``keep`` is neither, or a rate is to be kept with no cans on the mat.

    Examples
    --------
    >>> flow_after_size_change(CansFlow(400.0, 100.0), 500.0, "rate").speed_mm_per_s
    80.0
    >>> flow_after_size_change(CansFlow(400.0, 100.0), 500.0, "dwell").cans_per_min
    3000.0
    """
    one_of("keep", keep, KEEP)
    return before.keeping_rate(cans_per_m) if keep == "rate" else before.keeping_dwell(cans_per_m)
