"""The statics of one span of a taut wire: parabola, point load, length and stretch.

A load per length is given in N/m, as it is spoken of; lengths are mm, so it counts 1e-3 N/mm.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.check import finite, non_negative, positive
from packsim.errors import ConvergenceError

_N_PER_M = 1e-3  # 1 N/m in N/mm
_NEWTON_STEPS = 200


def parabola_sag_mm(load_N_per_m: float, span_mm: float, tension_N: float) -> float:
    """Mid-span deflection of a taut wire under an even load, w L² / (8 T) [mm].

    Parameters
    ----------
    load_N_per_m : float
        Load w per length of span, in the direction of the deflection [N/m].
    span_mm : float
        Distance L between the supports [mm].
    tension_N : float
        Tension T along the span [N].

    Returns
    -------
    float
        Deflection [mm].

    Notes
    -----
    Exact for a load even along the chord; for a wire's own weight it is short of the catenary by
    4/3 (s/L)² of itself, 0.05 % at a sag of L/50. Source: any statics text.

    Examples
    --------
    >>> parabola_sag_mm(4.0, 1500.0, 500.0)
    2.25
    """
    load = finite("load_N_per_m", load_N_per_m) * _N_PER_M
    return load * non_negative("span_mm", span_mm) ** 2 / (8.0 * positive("tension_N", tension_N))


def parabola_mm(along_mm: ArrayLike, span_mm: float, middle_mm: float) -> Floats:
    """Deflection along a span whose middle is out by ``middle_mm``, 4 s x (L − x) / L² [mm].

    Parameters
    ----------
    along_mm : array_like, shape (n,)
        Places from one support [mm]; outside 0..L the wire is not this span and the answer is 0.
    span_mm, middle_mm : float
        Span L and mid-span deflection s [mm].

    Returns
    -------
    ndarray, shape (n,)
        Deflection [mm].
    """
    share = np.clip(np.asarray(along_mm, dtype=np.float64) / positive("span_mm", span_mm), 0.0, 1.0)
    return np.asarray(4.0 * middle_mm * share * (1.0 - share), dtype=np.float64)


def stretched_tension_N(free_N: float, constant_N3: float) -> float:
    """Tension of a wire that its own load stretches, the positive root of T² (T − A) = B [N].

    Parameters
    ----------
    free_N : float
        Tension A the wire would have dead straight; negative when it is too long [N].
    constant_N3 : float
        B = EA w² L² / 24 [N³], 0 or more: stiffness times the parabola's extra length, times T².

    Returns
    -------
    float
        The tension [N]; max(0, A) without a load.

    Raises
    ------
    ConvergenceError
        If Newton's method does not settle. Right of the root the cubic is convex and rising, so
        from max(0, A) + B^(1/3) the steps only shrink towards it.
    """
    free = finite("free_N", free_N)
    if non_negative("constant_N3", constant_N3) == 0.0:
        return max(0.0, free)
    tension = max(0.0, free) + math.cbrt(constant_N3)
    for _ in range(_NEWTON_STEPS):
        over = tension**2 * (tension - free) - constant_N3
        step = over / (tension * (3.0 * tension - 2.0 * free))
        tension -= step
        if step <= 1e-13 * tension:
            return tension
    raise ConvergenceError(f"no tension found from {free_N} N and {constant_N3} N^3")
