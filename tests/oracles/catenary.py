"""The exact shape of a wire hanging by its own weight, by any two of its measures.

A load per length is given in N/m, as it is spoken of; lengths are mm, so it counts 1e-3 N/mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from packsim.errors import ConvergenceError, InputError, finite, positive

__all__ = ["Catenary", "catenary_by_length", "catenary_by_length_and_sag", "catenary_by_tension"]

_N_PER_M = 1e-3  # 1 N/m in N/mm
_LARGEST_ARGUMENT = 300.0  # cosh beyond this is no wire: its sag would be e^300 of its span
_NEWTON_STEPS = 100


@dataclass(frozen=True, slots=True)
class Catenary:
    """A wire hanging by its own weight between two supports of one height.

    Parameters
    ----------
    span_mm : float
        Distance L between the supports [mm].
    parameter_mm : float
        Radius of curvature c = H/w at the lowest point [mm].
    load_N_per_m : float
        Weight w per length of wire [N/m].

    Notes
    -----
    y = c cosh(x/c) exactly (Huygens, Leibniz and Johann Bernoulli, 1691). Sag is written as
    2c sinh²(L/4c), which keeps its digits for a taut wire.
    """

    span_mm: float
    parameter_mm: float
    load_N_per_m: float

    def __post_init__(self) -> None:
        positive("span_mm", self.span_mm)
        positive("parameter_mm", self.parameter_mm)
        positive("load_N_per_m", self.load_N_per_m)
        if self.span_mm > 2.0 * _LARGEST_ARGUMENT * self.parameter_mm:
            raise InputError("parameter_mm", self.parameter_mm, "a wire that is less slack")

    @property
    def sag_mm(self) -> float:
        """Drop of the middle below the supports [mm]."""
        half = math.sinh(self.span_mm / (4.0 * self.parameter_mm))
        return 2.0 * self.parameter_mm * half**2

    @property
    def length_mm(self) -> float:
        """Length of wire between the supports [mm]."""
        return 2.0 * self.parameter_mm * math.sinh(self.span_mm / (2.0 * self.parameter_mm))

    @property
    def horizontal_N(self) -> float:
        """Tension at the lowest point, the same horizontal pull all along [N]."""
        return self.load_N_per_m * _N_PER_M * self.parameter_mm

    @property
    def greatest_N(self) -> float:
        """Tension at a support, w (c + s) [N]."""
        return self.load_N_per_m * _N_PER_M * (self.parameter_mm + self.sag_mm)


def catenary_by_tension(load_N_per_m: float, span_mm: float, horizontal_N: float) -> Catenary:
    """Catenary of a span whose horizontal tension is known, in closed form c = H/w."""
    load = positive("load_N_per_m", load_N_per_m)
    return Catenary(span_mm, positive("horizontal_N", horizontal_N) / (load * _N_PER_M), load)


def catenary_by_length_and_sag(load_N_per_m: float, length_mm: float, sag_mm: float) -> Catenary:
    """Catenary of a wire whose length S and sag s are known, c = (S² − 4 s²) / (8 s).

    The span follows as 2c asinh(S/2c). Raises `InputError` unless 0 < 2 s < S.
    """
    length = positive("length_mm", length_mm)
    sag = positive("sag_mm", sag_mm)
    if 2.0 * sag >= length:
        raise InputError("sag_mm", sag_mm, f"less than half the length {length:g} mm")
    c = (length - 2.0 * sag) * (length + 2.0 * sag) / (8.0 * sag)
    return Catenary(2.0 * c * math.asinh(length / (2.0 * c)), c, load_N_per_m)


def catenary_by_length(load_N_per_m: float, span_mm: float, length_mm: float) -> Catenary:
    """Catenary of a wire of known length over a known span.

    Solves sinh(u)/u = S/L for u = L/2c by Newton's method from above, where the function is
    convex and the iteration cannot overshoot. The relative excess S/L − 1 carries the digits: a
    length given to 1e-12 of itself and an excess of 1e-6 leave six digits of sag squared.

    Raises
    ------
    InputError
        If the wire is not longer than the span.
    ConvergenceError
        If the iteration does not settle.
    """
    span = positive("span_mm", span_mm)
    if finite("length_mm", length_mm) <= span:
        raise InputError("length_mm", length_mm, f"a wire longer than its span {span:g} mm")
    excess = (length_mm - span) / span
    u = min(math.sqrt(6.0 * excess), 2.0 * math.log(2.0 * (1.0 + excess)) + 2.0)
    for _ in range(_NEWTON_STEPS):
        over = _sinhc_minus_one(u) - excess
        slope = (math.cosh(u) - 1.0 - _sinhc_minus_one(u)) / u if u > 0.05 else u / 3.0
        step = over / slope
        u -= step
        if abs(step) <= 1e-14 * u:
            return Catenary(span, span / (2.0 * u), load_N_per_m)
    raise ConvergenceError(f"no catenary found for length {length_mm} mm over {span} mm")


def _sinhc_minus_one(u: float) -> float:
    """Return sinh(u)/u − 1 without cancellation; the series is good to rounding below 0.5."""
    if u >= 0.5:
        return math.sinh(u) / u - 1.0
    v = u * u
    return v / 6.0 * (1.0 + v / 20.0 * (1.0 + v / 42.0 * (1.0 + v / 72.0 * (1.0 + v / 110.0))))
