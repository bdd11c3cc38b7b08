"""A wire over one span under its load: tension, sag and bow, for numbers and arrays alike.

`packsim.width.guide_wires` asks it of the wires of a side.
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.errors import ConvergenceError

_N_PER_M: Final = 1e-3  # a load of 1 N/m in N/mm
_NEWTON_STEPS: Final = 200


class LoadedWire(NamedTuple):
    """A wire over one span at working temperature, arrays of one shape.

    ``hot_N`` is its tension before the pack pushes and before it sags, ``tension_N`` what it works
    at [N]; ``sag_mm``, ``bow_mm`` and ``give_mm`` are as in `WireSpan` [mm]; ``slack`` says whether
    heat has taken all of its tension.
    """

    hot_N: Floats
    tension_N: Floats
    sag_mm: Floats
    bow_mm: Floats
    give_mm: Floats
    slack: Bools

    @property
    def outward_mm(self) -> Floats:
        """Farthest the middle of the wire can be outside its ends [mm]."""
        return np.maximum(self.bow_mm, self.give_mm)

    @property
    def drop_mm(self) -> Floats:
        """How much lower than its ends its lowest point can be [mm]."""
        return np.maximum(self.sag_mm, self.give_mm)


def loaded_wire(
    *,
    tension_N: ArrayLike,
    weight_N_per_m: ArrayLike,
    push_N_per_m: ArrayLike,
    stiffness_N: ArrayLike,
    strain: ArrayLike,
    span_mm: ArrayLike,
    anchored: ArrayLike,
) -> LoadedWire:
    """Return how wires stand over a span; see `wire_span`.

    Parameters
    ----------
    tension_N : array_like
        Tension as set, cold [N]; all are broadcast together.
    weight_N_per_m, push_N_per_m : array_like
        Load of one wire, down and outward [N/m].
    stiffness_N : array_like
        Axial stiffness [N].
    strain : array_like
        By how much more the wire grows than its frame [-].
    span_mm : array_like
        Distance between brackets [mm].
    anchored : array_like of bool
        Whether both ends are fixed.

    Returns
    -------
    LoadedWire
        Of the broadcast shape.
    """
    given = tension_N, weight_N_per_m, push_N_per_m, stiffness_N, strain, span_mm
    arrays = np.broadcast_arrays(*(np.asarray(one, dtype=np.float64) for one in given), anchored)
    tension, weight, push, stiffness, strain, span, fixed = arrays
    hot = np.where(fixed, tension - stiffness * strain, tension)
    free = hot - _stretch_N3(stiffness, weight, span) / tension**2
    stretched = stretched_tension_N(free, _stretch_N3(stiffness, np.hypot(weight, push), span))
    works = np.where(fixed, stretched, tension)
    taut, slack = works > 0.0, fixed.astype(np.bool_) & (hot <= 0.0)
    pulled = np.where(taut, works, 1.0)
    sag, bow = (np.where(taut, parabola_sag_mm(load, span, pulled), 0.0) for load in (weight, push))
    loose = span * np.sqrt(3.0 * np.maximum(-free, 0.0) / (8.0 * stiffness))
    give = np.where(slack, np.where(taut, np.hypot(sag, bow), loose), 0.0)
    return LoadedWire(hot_N=hot, tension_N=works, sag_mm=sag, bow_mm=bow, give_mm=give, slack=slack)


def _stretch_N3(stiffness_N: Floats, load_N_per_m: Floats, span_mm: Floats) -> Floats:
    """EA w²L²/24 [N³], the constant of the change-of-state equation."""
    return np.asarray(stiffness_N * (load_N_per_m * _N_PER_M * span_mm) ** 2 / 24.0)


def parabola_sag_mm(load_N_per_m: ArrayLike, span_mm: ArrayLike, tension_N: ArrayLike) -> Floats:
    """Mid-span deflection of a taut wire under an even load, w L² / (8 T) [mm].

    Parameters
    ----------
    load_N_per_m : array_like
        Load w per length of span, in the direction of the deflection [N/m].
    span_mm : array_like
        Distance L between the supports [mm].
    tension_N : array_like
        Tension T along the span, above 0 [N].

    Returns
    -------
    ndarray
        Deflection [mm].

    Notes
    -----
    Exact for a load even along the chord; for a wire's own weight it is short of the catenary by
    4/3 (s/L)² of itself, 0.05 % at a sag of L/50. Source: any statics text.

    Examples
    --------
    >>> float(parabola_sag_mm(4.0, 1500.0, 500.0))
    2.25
    """
    load = np.asarray(load_N_per_m) * _N_PER_M
    return np.asarray(load * np.square(span_mm) / (8.0 * np.asarray(tension_N)))


def stretched_tension_N(free_N: ArrayLike, constant_N3: ArrayLike) -> Floats:
    """Tension of a wire that its own load stretches, the positive root of T² (T − A) = B [N].

    Parameters
    ----------
    free_N : array_like
        Tension A the wire would have dead straight; negative when it is too long [N].
    constant_N3 : array_like
        B = EA w² L² / 24 [N³], 0 or more: stiffness times the parabola's extra length, times T².

    Returns
    -------
    ndarray
        The tension [N]; max(0, A) without a load.

    Raises
    ------
    ConvergenceError
        If Newton's method does not settle. Right of the root the cubic is convex and rising, so
        from max(0, A) + B^(1/3) the steps only shrink towards it.
    """
    free, constant = np.broadcast_arrays(
        np.asarray(free_N, dtype=np.float64), np.asarray(constant_N3, dtype=np.float64)
    )
    loaded = constant > 0.0
    least = np.maximum(0.0, free)
    tension = np.where(loaded, least + np.cbrt(constant), 1.0)
    for _ in range(_NEWTON_STEPS):
        over = tension**2 * (tension - free) - constant
        slope = np.where(loaded, tension * (3.0 * tension - 2.0 * free), 1.0)
        step = np.where(loaded, over / slope, 0.0)
        tension = tension - step
        if (step <= 1e-13 * tension).all():
            return np.where(loaded, tension, least)
    raise ConvergenceError("no tension found for a loaded wire")
