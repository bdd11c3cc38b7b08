"""How evenly the lanes are washed, which of them are not, and whether neighbouring sprays meet."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError, non_negative
from packsim.line import Header
from packsim.spray.jets import footprint_of

LOW_SHARE: Final = 0.8
HIGH_SHARE: Final = 1.25
"""Lanes below and above these shares of the mean dose are named: a judgement, not a standard."""


@dataclass(frozen=True, slots=True)
class Uniformity:
    """Evenness of the dose over the lanes.

    Parameters
    ----------
    mean : float
        Mean dose, in the unit given [-].
    coefficient : float
        Christiansen's coefficient of uniformity as a share: 1 when even [-].
    least_share, most_share : float
        Least and greatest dose over the mean [-].
    under, over : tuple of int
        Lanes below the lower and above the upper threshold, counted from 0 at the left guide.
    """

    mean: float
    coefficient: float
    least_share: float
    most_share: float
    under: tuple[int, ...]
    over: tuple[int, ...]


def christiansen(doses: ArrayLike, weights: ArrayLike | None = None) -> float:
    """Christiansen's coefficient of uniformity, 1 − Σ|x − x̄| / (n x̄).

    Parameters
    ----------
    doses : array_like, shape (m,)
        What each place received, 0 or more, in any one unit [-].
    weights : array_like, shape (m,), optional
        Share of the cans each value stands for [-]; equal when omitted.

    Returns
    -------
    float
        Coefficient as a share (the source multiplies by 100): 1 when even, below 0 when most
        goes to few places; nan when nothing was received anywhere [-].

    Raises
    ------
    InputError
        If there is no dose, or a dose or weight is negative or not a number.

    Notes
    -----
    Source: [christiansen1942]_.

    Examples
    --------
    >>> christiansen([8.0, 10.0, 12.0])  # deviations 2, 0, 2 of 30
    0.8667
    """
    dose, share = _checked(doses, weights)
    mean = float(dose @ share)
    if mean == 0.0:
        return float("nan")
    return float(1.0 - np.abs(dose - mean) @ share / mean)


def uniformity(
    doses: ArrayLike,
    weights: ArrayLike | None = None,
    low_share: float = LOW_SHARE,
    high_share: float = HIGH_SHARE,
) -> Uniformity:
    """Evenness of the dose, with the lanes that get too little or too much named.

    Parameters
    ----------
    doses : array_like, shape (m,)
        Dose of each lane, 0 or more, in any one unit [-].
    weights : array_like, shape (m,), optional
        Share of the cans on each lane [-]; equal when omitted.
    low_share, high_share : float
        Thresholds as shares of the mean dose; a judgement, not a standard [-].

    Returns
    -------
    Uniformity
        Coefficient, extremes and the lanes beyond the thresholds.

    Raises
    ------
    InputError
        If a dose, weight or threshold is out of range.
    """
    dose, share = _checked(doses, weights)
    low = non_negative("low_share", low_share)
    if not high_share > low:
        raise InputError("high_share", high_share, f"more than low_share = {low}")
    mean = float(dose @ share)
    ratio = dose / mean if mean > 0.0 else np.full(dose.shape, np.nan)
    return Uniformity(
        mean=mean,
        coefficient=christiansen(dose, share),
        least_share=float(np.min(ratio)),
        most_share=float(np.max(ratio)),
        under=tuple(np.flatnonzero(~(ratio >= low)).tolist()),  # all of them where nothing landed
        over=tuple(np.flatnonzero(ratio > high_share).tolist()),
    )


def _checked(doses: ArrayLike, weights: ArrayLike | None) -> tuple[Floats, Floats]:
    dose = np.asarray(doses, dtype=np.float64)
    if dose.ndim != 1 or dose.size == 0 or not np.all(np.isfinite(dose) & (dose >= 0.0)):
        raise InputError("doses", doses, "a row of finite doses of 0 or more")
    share = np.ones(dose.size) if weights is None else np.asarray(weights, dtype=np.float64)
    if share.shape != dose.shape or not np.all(share >= 0.0) or not 0.0 < np.sum(share) < np.inf:
        raise InputError("weights", weights, f"{dose.size} weights of 0 or more, not all 0")
    return dose, np.asarray(share / np.sum(share), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How the footprints of neighbouring nozzles meet on the plane they wash.

    Parameters
    ----------
    stand_off_mm : float
        Nozzle tip to that plane: the can tops from above, the mat from below [mm].
    width_mm : float
        Width one footprint covers across the mat [mm].
    overlap_mm : float
        Width two neighbours share; below 0 it is the dry stripe between them [mm].
    layers : float
        Footprint width over nozzle pitch: how many sprays a line meets on average [-].
    dry_below_mm : float
        Stand-off at which neighbours just meet; nearer than this they leave a stripe dry [mm].
    """

    stand_off_mm: float
    width_mm: float
    overlap_mm: float
    layers: float
    dry_below_mm: float


def coverage(header: Header, can_height_mm: float) -> Coverage:
    """Overlap of the neighbouring sprays of a header for a can height.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat; a taller can comes closer to the nozzles above and is met
        by narrower sprays [mm].

    Returns
    -------
    Coverage
        Width, overlap and the least stand-off without a dry stripe. Straight rays.

    Raises
    ------
    InputError
        If a header above stands no higher than the can tops.

    Examples
    --------
    >>> import math
    >>> from packsim.line import Nozzle
    >>> cone = Nozzle("cone", math.radians(90.0), 1e5, 0.1)
    >>> coverage(Header("above", 0.0, 200.0, 0.0, 120.0, 8, 0.1, cone), 150.0)
    Coverage(stand_off_mm=50.0, width_mm=100.0, overlap_mm=-20.0, layers=0.83, dry_below_mm=60.0)
    """
    patch = footprint_of(header, can_height_mm)
    width = 2.0 * patch.half_across_mm
    needed = patch.stand_off_mm * header.pitch_mm / width
    return Coverage(
        patch.stand_off_mm, width, width - header.pitch_mm, width / header.pitch_mm, needed
    )
