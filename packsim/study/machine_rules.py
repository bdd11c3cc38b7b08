"""Rules about what stands around the pack: wires, hold-down mats, headers and their nozzles."""

from __future__ import annotations

from typing import Final

from packsim.answers import Answer, clear_headers
from packsim.line import Scenario
from packsim.study.remark import Remark

__all__ = [
    "WORTH_A_SHIFT_MM",
    "header_height",
    "hold_down_height",
    "nozzles",
    "sprays_alone",
    "wires",
]

WORTH_A_SHIFT_MM: Final = 1.0
"""A shift that gains less than this is lost in the setting of the brackets (common practice, no
source: brackets are set to about a millimetre)."""

MISSES_CAN: Final = 0.25
"""Share of a diameter: a nozzle farther than this from the can centre aims nearer the wall than
the middle (plain geometry; half way from centre to wall)."""


def wires(_: Scenario, answer: Answer) -> Remark | None:
    """No wire supports an edge can."""
    if answer.tipping.safe.governing_wire_mm is not None:
        return None
    top = {"top": answer.stance.height_mm}
    if not answer.wire_heights_mm:
        return Remark(
            "stop",
            "every guide wire sags onto the mat at mid-span: nothing supports an edge can",
            "tighten the wires or add brackets",
        )
    return Remark(
        "stop",
        "every guide wire is above the can tops: nothing supports an edge can",
        "add or lower a wire to below {top}",
        top,
    )


def hold_down_height(_: Scenario, answer: Answer) -> Remark | None:
    """Hold-down mat too low, too high, or idle."""
    mat = answer.hold_down
    if mat is None or mat.blocks:
        return None
    top = answer.stance.height_mm
    if mat.state == "crushes":
        return Remark(
            "stop",
            "the hold-down hangs {below} below the can tops",
            "raise its underside above {top}, to less than {limit}",
            {"below": -mat.clearance_mm, "top": top, "limit": top + max(0.0, mat.limit_mm)},
        )
    return Remark(
        "change",
        "the hold-down hangs {clearance} over the can tops and no longer keeps cans from tipping",
        "lower it to less than {limit} over the tops",
        {"clearance": mat.clearance_mm, "limit": mat.limit_mm},
    )


def header_height(scenario: Scenario, answer: Answer) -> Remark | None:
    """Spray header that hangs into the cans."""
    stage = scenario.stage(answer.stage)
    low = [
        h.mat_distance_mm
        for h in stage.headers
        if h not in clear_headers(stage, answer.stance.height_mm)
    ]
    if not low:
        return None
    return Remark(
        "stop",
        "a spray header hangs {below} below the can tops",
        "raise its nozzles above {top}",
        {"below": answer.stance.height_mm - min(low), "top": answer.stance.height_mm},
    )


def sprays_alone(_: Scenario, answer: Answer) -> Remark | None:
    """Sprays that lift a can, or turn it over with no slack at all."""
    if answer.spray is None:
        return None
    lifted = int(answer.spray.lifted.sum())
    if lifted:
        lanes = "one lane" if lifted == 1 else f"{lifted} lanes"
        return Remark(
            "stop",
            f"the sprays from below lift the cans of {lanes}",
            "lower the pressure below the mat, or raise it above",
        )
    if answer.tipping.balance_angle_rad <= 0.0:
        return Remark(
            "stop",
            "the sprays alone carry a can past its balance point in the worst lane",
            "bring the nozzles over the can centres or lower the pressure",
        )
    share = answer.tipping.balance_angle_rad / answer.tipping.rest_angle_rad
    if share < 0.5:
        return Remark(
            "watch",
            "at their worst moment the sprays take more than half of the balance angle",
            "packsim why names the headers that press it over, and what a shift of the pack gains",
        )
    return None


def nozzles(_: Scenario, answer: Answer) -> Remark | None:
    """Nozzles miss the can centres, and a shift would or would not help."""
    found = answer.alignment
    if found is None:
        return None
    gain = found.now.worst_mm - found.best.worst_mm
    far = found.best.worst_mm > MISSES_CAN * answer.pack.diameter_mm
    if gain <= WORTH_A_SHIFT_MM and not far:
        return None
    lengths = {"worst": found.now.worst_mm, "best": found.best.worst_mm}
    what = "a lane rides {worst} off its nearest nozzle"
    if far:
        do = "no shift brings it under {best}: the nozzle pitch does not suit this size"
        return Remark("watch", what, do, lengths)
    lengths["shift"] = abs(found.best.shift_for_worst_mm)
    side = "right" if found.best.shift_for_worst_mm > 0.0 else "left"
    return Remark("watch", what, f"shift the pack {{shift}} to the {side}: {{best}} left", lengths)
