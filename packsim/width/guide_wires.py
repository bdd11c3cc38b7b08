"""How far the guide wires give between their brackets, cold and hot.

Between two brackets a wire sags by its weight and bows outward under the push of the pack, so the
pack is looser at mid-span than at a bracket, and the wire is lower there.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from packsim.constants import GRAVITY_M_PER_S2
from packsim.errors import finite, non_negative
from packsim.line.guides import Guides, Wires
from packsim.width.loaded_wire import loaded_wire


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
