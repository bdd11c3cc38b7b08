"""How far the guide wires give between their brackets, cold and hot.

Between two brackets a wire sags by its weight and bows outward under the push of the pack, so the
pack is looser at mid-span than at a bracket, and the wire is lower there.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Bools, Floats
from packsim.constants import GRAVITY_M_PER_S2
from packsim.errors import ConvergenceError, finite, non_negative
from packsim.line.guides import Guides, Wires

_N_PER_M: Final = 1e-3  # a load of 1 N/m in N/mm
_NEWTON_STEPS: Final = 200


@dataclass(frozen=True, slots=True)
class WireSpan:
    """One wire over one span, as it stands at working temperature under the pack's push.

    Parameters
    ----------
    span_mm : float
        Free length between two brackets [mm].
    hot_tension_N : float
        Tension at working temperature before the pack pushes and before the wire sags, never
        below 0 [N].
    tension_N : float
        Tension it works at, its own stretch under load included [N].
    sag_mm, bow_mm : float
        How much lower, and how much farther out, its middle is than its ends [mm].
    give_mm : float
        How far the middle may wander without resistance, 0 for a taut wire [mm].
    takeup_mm : float
        Travel a take-up needs for this span [mm]; 0 for an anchored wire.
    reason : str
        Why the wire is slack, or empty.
    """

    span_mm: float
    hot_tension_N: float
    tension_N: float
    sag_mm: float
    bow_mm: float
    give_mm: float
    takeup_mm: float
    reason: str = ""

    @property
    def slack(self) -> bool:
        """Whether the wire has lost its tension to heat."""
        return bool(self.reason)

    @property
    def outward_mm(self) -> float:
        """Farthest the middle of the wire can be outside its ends [mm]."""
        return max(self.bow_mm, self.give_mm)

    @property
    def drop_mm(self) -> float:
        """How much lower than its ends its lowest point can be [mm]."""
        return max(self.sag_mm, self.give_mm)


@lru_cache(maxsize=1024)
def wire_span(
    wires: Wires,
    span_mm: float,
    *,
    warming_K: float = 0.0,
    frame_expansion_per_K: float = 0.0,
    pack_pressure_N_per_m: float = 0.0,
) -> WireSpan:
    """Return how one wire of a side stands over one span.

    Parameters
    ----------
    wires : Wires
        The wires of the side; tension as set, cold.
    span_mm : float
        Distance between two brackets; 0 gives a wire that cannot move [mm].
    warming_K : float
        Working temperature less the temperature of setting, of wire and frame alike [K].
    frame_expansion_per_K : float
        Expansion of the frame that carries the brackets [1/K].
    pack_pressure_N_per_m : float
        Push q of the pack on the whole side [N/m].

    Returns
    -------
    WireSpan
        Tension, sag, bow, give and take-up travel.

    Notes
    -----
    The k wires of a side share the push equally, q/k each. That is assumed: upright cans touch
    every wire below their tops; leaning ones load the highest wire more.

    A wire on a take-up keeps its tension and the take-up travels (α_wire − α_frame) L ΔT. An
    anchored wire is a fixed length of metal. Heat takes EA (α_wire − α_frame) ΔT off its tension
    (below 0 it is slack), and load gives some back, because a bowed wire is a stretched one. With
    the parabola's extra length w²L²/(24T²) of L, for weight and push together w = hypot(w₀, q/k),
    and set at T₀ under its weight w₀ alone, the tension T satisfies::

        T − EA w²L²/(24T²) = T₀ − EA w₀²L²/(24T₀²) − EA (α_wire − α_frame) ΔT

    the change-of-state equation of overhead lines (cubic in T, one positive root). So a slack wire
    still has a finite bow. Each span stands for itself, as if the wire were clamped at every
    bracket; for equal spans that is also right for a wire that slides. Brackets are rigid. Good
    while sag and bow stay below a tenth of the span.

    Examples
    --------
    >>> wires = Wires((40.0, 90.0), 500.0, 0.056, 1.36e6, anchored=False)
    >>> wire_span(wires, 1500.0, pack_pressure_N_per_m=8.0).bow_mm
    2.25
    """
    non_negative("span_mm", span_mm)
    warming = finite("warming_K", warming_K)
    strain = (wires.expansion_per_K - finite("frame_expansion", frame_expansion_per_K)) * warming
    side = non_negative("pack_pressure_N_per_m", pack_pressure_N_per_m)
    stands = loaded_wire(
        tension_N=wires.tension_N,
        weight_N_per_m=wires.mass_kg_per_m * GRAVITY_M_PER_S2,
        push_N_per_m=side / len(wires.heights_mm),
        stiffness_N=wires.stiffness_N,
        strain=strain,
        span_mm=span_mm,
        anchored=wires.anchored,
    )
    hot, reason = float(stands.hot_N), ""
    if stands.slack:
        loss, was = f"{wires.tension_N - hot:.0f} N", f"{wires.tension_N:.0f} N"
        reason = f"slack: {warming:+.0f} K takes {loss} off an anchored wire set at {was};"
        reason += " a take-up keeps it taut"
    return WireSpan(
        span_mm=span_mm,
        hot_tension_N=max(0.0, hot),
        tension_N=float(stands.tension_N),
        sag_mm=float(stands.sag_mm),
        bow_mm=float(stands.bow_mm),
        give_mm=float(stands.give_mm),
        takeup_mm=0.0 if wires.anchored else strain * span_mm,
        reason=reason,
    )


def wire_spans(
    guides: Guides, temperature_C: float, pack_pressure_N_per_m: float = 0.0
) -> tuple[WireSpan, ...]:
    """Return every span of a side's wires in order, at working temperature [°C] and push [N/m]."""
    warming = finite("temperature_C", temperature_C) - guides.setting_temperature_C
    stations = [bracket.station_mm for bracket in guides.brackets]
    return tuple(
        wire_span(
            guides.wires,
            b - a,
            warming_K=warming,
            frame_expansion_per_K=guides.frame_expansion_per_K,
            pack_pressure_N_per_m=pack_pressure_N_per_m,
        )
        for a, b in pairwise(stations)
    )


@lru_cache(maxsize=512)
def slackest_span(
    guides: Guides, temperature_C: float, pack_pressure_N_per_m: float = 0.0
) -> WireSpan | None:
    """Return the span whose middle can be farthest out, or None with a single bracket."""
    spans = wire_spans(guides, temperature_C, pack_pressure_N_per_m)
    return max(spans, key=lambda span: span.outward_mm, default=None)


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
