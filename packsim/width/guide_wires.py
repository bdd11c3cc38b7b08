"""How far the guide wires give between their brackets, cold and hot.

Between two brackets a wire sags by its weight and bows outward under the push of the pack, so the
pack is looser at mid-span than at a bracket, and the wire is lower there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.check import finite, non_negative
from packsim.constants import GRAVITY_M_PER_S2
from packsim.line.guides import Guides, Wires
from packsim.width.cable import parabola_mm, parabola_sag_mm, stretched_tension_N


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

    def lowest_mm(self, height_mm: float) -> float:
        """Height of the lowest point of a wire that is ``height_mm`` high at its brackets [mm]."""
        return height_mm - max(self.sag_mm, self.give_mm)


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
    push = non_negative("pack_pressure_N_per_m", pack_pressure_N_per_m) / len(wires.heights_mm)
    weight = wires.mass_kg_per_m * GRAVITY_M_PER_S2
    strain = (wires.expansion_per_K - finite("frame_expansion", frame_expansion_per_K)) * warming
    if not wires.anchored:
        sag = parabola_sag_mm(weight, span_mm, wires.tension_N)
        bow = parabola_sag_mm(push, span_mm, wires.tension_N)
        travel = strain * span_mm
        return WireSpan(
            span_mm=span_mm,
            hot_tension_N=wires.tension_N,
            tension_N=wires.tension_N,
            sag_mm=sag,
            bow_mm=bow,
            give_mm=0.0,
            takeup_mm=travel,
        )
    hot = wires.tension_N - wires.stiffness_N * strain
    reason = "" if hot > 0.0 else _slack_reason(wires.tension_N - hot, wires.tension_N, warming)
    free = hot - _stretch_N3(wires, weight, span_mm) / wires.tension_N**2
    load = math.hypot(weight, push)
    tension = stretched_tension_N(free, _stretch_N3(wires, load, span_mm))
    if tension > 0.0:
        sag = parabola_sag_mm(weight, span_mm, tension)
        bow = parabola_sag_mm(push, span_mm, tension)
        give = math.hypot(sag, bow) if reason else 0.0
    else:  # a weightless slack wire nobody touches: straight, but free to wander
        sag = bow = 0.0
        give = span_mm * math.sqrt(3.0 * -free / (8.0 * wires.stiffness_N))
    return WireSpan(
        span_mm=span_mm,
        hot_tension_N=max(0.0, hot),
        tension_N=tension,
        sag_mm=sag,
        bow_mm=bow,
        give_mm=give,
        takeup_mm=0.0,
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


def slackest_span(
    guides: Guides, temperature_C: float, pack_pressure_N_per_m: float = 0.0
) -> WireSpan | None:
    """Return the span whose middle can be farthest out, or None with a single bracket."""
    spans = wire_spans(guides, temperature_C, pack_pressure_N_per_m)
    return max(spans, key=lambda span: span.outward_mm, default=None)


def faces_with_bow(
    guides: Guides, station_mm: ArrayLike, pack_pressure_N_per_m: float, temperature_C: float
) -> tuple[Floats, Floats]:
    """Left and right face along the stage, bowed outward between brackets [mm].

    Parameters
    ----------
    guides : Guides
        The guides as set.
    station_mm : array_like, shape (n,)
        Places along the stage [mm].
    pack_pressure_N_per_m : float
        Push of the pack on each side [N/m].
    temperature_C : float
        Working temperature [°C].

    Returns
    -------
    left_mm, right_mm : ndarray, shape (n,)
        Faces from the mat's left edge [mm]; straight before the first and after the last bracket.
        Growth of the frame is not in them, the slack budget carries it.
    """
    at = np.asarray(station_mm, dtype=np.float64)
    left, right = guides.faces_mm(at)
    stations = [bracket.station_mm for bracket in guides.brackets]
    spans = wire_spans(guides, temperature_C, pack_pressure_N_per_m)
    for start, span in zip(stations, spans, strict=False):  # one bracket more than spans
        bow = parabola_mm(at - start, span.span_mm, span.bow_mm)
        left, right = left - bow, right + bow
    return left, right


def _slack_reason(loss_N: float, set_N: float, warming_K: float) -> str:
    return (
        f"slack: {warming_K:+.0f} K takes {loss_N:.0f} N off an anchored wire set at {set_N:.0f} N;"
        " a take-up keeps it taut"
    )


def _stretch_N3(wires: Wires, load_N_per_m: float, span_mm: float) -> float:
    """EA w²L²/24 [N³], the constant of the change-of-state equation."""
    return wires.stiffness_N * (load_N_per_m * 1e-3 * span_mm) ** 2 / 24.0
