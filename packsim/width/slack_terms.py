"""The terms of the slack at a stage: what each follows from and adds, for numbers and arrays alike.

`packsim.width.slack_budget` words them for one can size in one stage.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.line import Stage
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
