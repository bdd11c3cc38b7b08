"""The terms of the slack at a stage: what each follows from and adds, for numbers and arrays alike.

With the words for each: why it is so much, and what makes it smaller. `packsim.width.slack_budget`
adds them up for one can size in one stage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.line import Guides, Stage
from packsim.pack.lattice import can_tolerance_mm
from packsim.width.guide_wires import slackest_span

CAN_TOLERANCE: Final = "can tolerance"
CANS_GROW: Final = "growth of cans"
FRAME_GROWS: Final = "growth of frame"

BOW: Final = "bow at mid-span"
"""Term of what the wires give between brackets; a part of it goes with tension or span."""

BRACKETS: Final = "bracket difference"

SETTING_STEP: Final = "setting step"
"""Term of how well guides are set; nobody can take a part of it away."""

WEAR: Final = "wear"
STEP: Final = "step at brackets"

OF_GUIDES: Final = ("setting_step_mm", "wear_mm", "step_mm")
"""Fields of guides that terms are made of as they stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SlackInputs:
    """What the terms follow from; each a number, or arrays that are broadcast together.

    Parameters
    ----------
    clear_width_mm, widest_mm : array_like
        Clear width at the narrowest and at the widest bracket; the same for a funnel [mm].
    pack_width_mm : array_like
        Width of the touching pack of the lanes judged [mm].
    diameter_mm, diameter_tol_mm : array_like
        Can diameter and its plus/minus tolerance [mm].
    warming_K : array_like
        Working temperature less that of setting [K].
    can_expansion_per_K, frame_expansion_per_K : array_like
        Thermal expansion of cans and frame [1/K].
    outward_mm : array_like
        How far a wire gives at mid-span [mm].
    setting_step_mm, wear_mm, step_mm : array_like
        As in `packsim.line.Guides` [mm].
    """

    clear_width_mm: Floats | float
    widest_mm: Floats | float
    pack_width_mm: Floats | float
    diameter_mm: Floats | float
    diameter_tol_mm: Floats | float
    warming_K: Floats | float
    can_expansion_per_K: Floats | float
    frame_expansion_per_K: Floats | float
    outward_mm: Floats | float
    setting_step_mm: Floats | float
    wear_mm: Floats | float
    step_mm: Floats | float

    @property
    def growth(self) -> Floats:
        """How much more than the clear width the slack grows with it [-]."""
        return np.asarray(self.frame_expansion_per_K * np.asarray(self.warming_K))

    def terms_mm(self) -> dict[str, tuple[Floats, Floats]]:
        """Return what each term adds to the slack in the tightest and in the loosest case [mm]."""
        none, pack = np.asarray(0.0), np.asarray(self.pack_width_mm)
        tolerance = self.diameter_tol_mm * pack / self.diameter_mm
        cans = -self.can_expansion_per_K * self.warming_K * pack
        frame = self.growth * self.clear_width_mm
        step = np.asarray(self.setting_step_mm, dtype=np.float64)
        return {
            CAN_TOLERANCE: (-tolerance, tolerance),
            CANS_GROW: (cans, cans),
            FRAME_GROWS: (frame, frame),
            BOW: (none, 2.0 * np.asarray(self.outward_mm)),
            BRACKETS: (none, np.asarray(self.widest_mm) - self.clear_width_mm),
            SETTING_STEP: (-step, step),
            WEAR: (none, 2.0 * np.asarray(self.wear_mm)),
            STEP: (-2.0 * np.asarray(self.step_mm), none),
        }

    def cases_mm(self) -> tuple[Floats, Floats]:
        """Return the slack in the tightest and in the loosest case [mm]."""
        slack = np.asarray(self.clear_width_mm) - self.pack_width_mm
        terms = self.terms_mm().values()
        tight, loose = (slack + sum((term[i] for term in terms), np.zeros(())) for i in (0, 1))
        return tight, loose


def slack_inputs(stage: Stage, can: Can, pack_width_mm: float) -> SlackInputs:
    """Return what the terms of `slack_budget` follow from, as numbers."""
    guides = stage.guides
    span = slackest_span(guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    straight = guides.shape != "funnel"
    return SlackInputs(
        clear_width_mm=guides.narrowest_mm,
        widest_mm=guides.widest_mm if straight else guides.narrowest_mm,
        pack_width_mm=pack_width_mm,
        diameter_mm=can.diameter_mm,
        diameter_tol_mm=can.diameter_tol_mm,
        warming_K=stage.temperature_C - guides.setting_temperature_C,
        can_expansion_per_K=can.expansion_per_K,
        frame_expansion_per_K=guides.frame_expansion_per_K,
        outward_mm=0.0 if span is None else span.outward_mm,
        **{name: getattr(guides, name) for name in OF_GUIDES},
    )


def said_of(stage: Stage, can: Can, pack_width_mm: float) -> dict[str, dict[str, Any]]:
    """Kind, reason and remedy of each term there is, in order."""
    guides = stage.guides
    warming = f"over {stage.temperature_C - guides.setting_temperature_C:+.0f} K since setting"
    step_mm, wear_mm = guides.setting_step_mm, guides.wear_mm
    said: dict[str, dict[str, Any]] = {
        CAN_TOLERANCE: _can_tolerance(can, pack_width_mm, stage.layout),
        CANS_GROW: {"why": f"{can.expansion_per_K * 1e6:.1f} µm/(m K) {warming}"},
        FRAME_GROWS: {
            "why": f"{guides.frame_expansion_per_K * 1e6:.1f} µm/(m K) {warming}",
            "scales": True,
        },
        BOW: _bow(stage),
        BRACKETS: _bracket_difference(guides),
        SETTING_STEP: {
            "kind": "tolerance",
            "why": f"each side is right to half of its {step_mm:g} mm step",
            "spread_mm": step_mm / math.sqrt(2.0),  # two sides, half a step each, independent
            "remedy": "use a finer setting step, or set with a gauge",
        },
        WEAR: {
            "why": f"{wear_mm:g} mm worn off each side where it is worn, none elsewhere",
            "remedy": "renew the worn guides",
        },
    }
    if guides.step_mm != 0.0:
        said[STEP] = {
            "why": f"each face stands in by {guides.step_mm:g} mm at a bracket, none between",
            "remedy": "set the guide sections in line at the brackets",
        }
    return {name: {"kind": "fixed"} | more for name, more in said.items()}


def _can_tolerance(can: Can, pack_width_mm: float, layout: str) -> dict[str, Any]:
    tol, across = can.diameter_tol_mm, pack_width_mm / can.diameter_mm
    _, rss = can_tolerance_mm(tol, can.diameter_mm, pack_width_mm, layout)
    why = f"±{tol:g} mm on each diameter over {across:.2f} diameters across"
    return {"kind": "tolerance", "why": why, "spread_mm": rss}


def _bow(stage: Stage) -> dict[str, Any]:
    span = slackest_span(stage.guides, stage.temperature_C, stage.pack_pressure_N_per_m)
    if span is None:
        return {"why": "a single bracket, no span"}
    push = f"{stage.pack_pressure_N_per_m:g} N/m of push; none at a bracket"
    taut = f"span {span.span_mm:.0f} mm at {span.tension_N:.0f} N under {push}"
    return {
        "why": f"both sides, {span.reason or taut}",
        "remedy": "add a bracket or raise the wire tension",
    }


def _bracket_difference(guides: Guides) -> dict[str, Any]:
    if guides.shape == "funnel":
        why = "a funnel, whose brackets differ on purpose; slack is that of its narrowest"
        return {"why": why}
    why = f"brackets stand from {guides.narrowest_mm:g} to {guides.widest_mm:g} mm"
    return {"why": why, "remedy": "set all brackets alike"}
