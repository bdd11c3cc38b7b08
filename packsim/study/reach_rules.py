"""The rule about where brackets can go: a setting is no use that they cannot reach."""

from __future__ import annotations

import math

from packsim.answers import Answer
from packsim.line import Scenario, Stage
from packsim.study.remark import Remark

__all__ = ["bracket_travel"]

_SAME_MM = 1e-6
"""Settings closer than this are one: numerical."""


def bracket_travel(scenario: Scenario, answer: Answer) -> Remark | None:
    """Brackets out of their travel, as they are set or at the setting told."""
    stage, mat = scenario.stage(answer.stage), scenario.mat.width_mm
    end = "the travel of the brackets" if stage.guides.travel_mm else "the mat"
    target = answer.window.target_mm
    width = answer.window.low_mm if target is None else target
    needed = _beyond_mm(stage, mat, width) if answer.pack.fits else 0.0
    if needed > _SAME_MM:
        lengths = {"width": width, "beyond": needed}
        what = f"at the {{width}} to set, a guide would stand {{beyond}} beyond {end}"
        return Remark("change", what, _way_out(stage, mat, width, lengths), lengths)
    now = _beyond_mm(stage, mat, None)
    if now <= _SAME_MM:
        return None
    return Remark(
        "change",
        f"as set, a guide stands {{beyond}} beyond {end}",
        "measure where the guides stand, or correct the travel in the scenario",
        {"beyond": now},
    )


def _travel_mm(stage: Stage) -> tuple[float, float]:
    return stage.guides.travel_mm or (0.0, math.inf)


def _beyond_mm(stage: Stage, mat_mm: float, width_mm: float | None) -> float:
    """Farthest any guide face is out of reach, at a clear width about its middle or as set [mm]."""
    near, far = _travel_mm(stage)
    most = 0.0
    for bracket in stage.guides.brackets:
        half = (bracket.clear_width_mm if width_mm is None else width_mm) / 2.0
        for gap in (bracket.centre_mm - half, mat_mm - bracket.centre_mm - half):
            most = max(most, near - gap, gap - far)
    return most


def _way_out(stage: Stage, mat_mm: float, width_mm: float, lengths: dict[str, float]) -> str:
    """Say by which shift of the pass the width can be reached, or that none does."""
    near, far = _travel_mm(stage)
    half, centre = width_mm / 2.0, stage.guides.centre_mm
    low = max(near + half, mat_mm - far - half)
    high = min(far + half, mat_mm - near - half)
    if low > high:
        lengths["least"], lengths["most"] = max(0.0, mat_mm - 2.0 * far), mat_mm - 2.0 * near
        return "move the bracket bases first: they reach {least} to {most} wall to wall"
    shift = min(max(centre, low), high) - centre
    lengths["shift"] = abs(shift)
    side = "right" if shift > 0.0 else "left"
    return f"set the middle of the pass {{shift}} to the {side}"
