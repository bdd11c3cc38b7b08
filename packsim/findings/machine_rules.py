"""Rules about what stands around the pack: wires, hold-downs, headers and nozzles."""

from __future__ import annotations

from packsim.answers import Answer, clear_headers
from packsim.findings.finding import WHY, Finding, tell
from packsim.line import Scenario
from packsim.nozzles.lane_lines import MISSES_CAN, WORTH_A_SHIFT_MM


def wires(_: Scenario, answer: Answer) -> Finding | None:
    """No wire supports an edge can."""
    if answer.tipping.safe.governing_wire_mm is not None:
        return None
    if not answer.wire_heights_mm:
        return tell(
            answer,
            "stop",
            "every guide wire sags onto the mat at mid-span: nothing supports an edge can",
            "tighten the wires or add brackets",
        )
    return tell(
        answer,
        "stop",
        "every guide wire is above the can tops: nothing supports an edge can",
        "add or lower a wire to below {top_mm}",
        WHY,
        top_mm=answer.stance.height_mm,
    )


def hold_down_height(_: Scenario, answer: Answer) -> Finding | None:
    """Hold-down too low, too high, or idle."""
    mat, top = answer.hold_down, answer.stance.height_mm
    if mat is None or mat.blocks:
        return None
    if mat.state == "crushes":
        return tell(
            answer,
            "stop",
            "the hold-down is {below_mm} too low: it would crush the cans",
            "set its underside between {top_mm} and {limit_mm} above the mat (higher, it no "
            "longer stops a tipping can)",
            "",
            "hold-down crushes cans: raise it to {top_mm} to {limit_mm}",
            below_mm=-mat.clearance_mm,
            top_mm=top,
            limit_mm=top + max(0.0, mat.limit_mm),
        )
    return tell(
        answer,
        "change",
        "the hold-down stands {clearance_mm} over the can tops and no longer keeps cans from "
        "tipping",
        "lower it to less than {limit_mm} over the tops",
        "",
        "lower the hold-down to less than {limit_mm} over the tops",
        clearance_mm=mat.clearance_mm,
        limit_mm=mat.limit_mm,
    )


def header_height(scenario: Scenario, answer: Answer) -> Finding | None:
    """Spray header that hangs into the cans."""
    stage, top = scenario.stage(answer.stage), answer.stance.height_mm
    clear = clear_headers(stage, top)
    low = [header.mat_distance_mm for header in stage.headers if header not in clear]
    if not low:
        return None
    what = "a spray header hangs {below_mm} below the can tops"
    do = "raise its nozzles above {top_mm}"
    return tell(answer, "stop", what, do, below_mm=top - min(low), top_mm=top)


def sprays_alone(_: Scenario, answer: Answer) -> Finding | None:
    """Sprays that lift a can, or turn it over with no slack at all."""
    if answer.spray is None:
        return None
    lifted = int(answer.spray.lifted.sum())
    if lifted:
        return tell(
            answer,
            "stop",
            "the sprays from below lift the cans of {lanes}",
            "lower the pressure below the mat, or raise it above",
            WHY,
            lanes="one lane" if lifted == 1 else f"{lifted} lanes",
        )
    if answer.tipping.balance_angle_rad > 0.0:
        return None
    return tell(
        answer,
        "stop",
        "the sprays alone carry a can past its balance point in the worst lane",
        "bring the nozzles over the can centres or lower the pressure",
        WHY,
    )


def sprays_halve(scenario: Scenario, answer: Answer) -> Finding | None:
    """Sprays that leave a can less than half of its balance angle."""
    found = answer.tipping
    if answer.spray is None or found.balance_angle_rad >= 0.5 * found.rest_angle_rad:
        return None
    if sprays_alone(scenario, answer) is not None:
        return None
    return tell(
        answer,
        "watch",
        "under the strongest spray a can tips at less than half its angle at rest",
        "see which headers press it over, and what a shift of the pack gains",
        WHY,
        "the sprays take more than half of the tip angle",
    )


def nozzles(_: Scenario, answer: Answer) -> Finding | None:
    """Nozzles miss the can centres, and a shift would or would not help."""
    found = answer.alignment
    if found is None:
        return None
    now, best = found.now.worst_mm, found.best.worst_mm
    gain, far = now - best, best > MISSES_CAN * answer.pack.diameter_mm
    if gain <= WORTH_A_SHIFT_MM and not far:
        return None
    side = "right" if found.best.shift_for_worst_mm > 0.0 else "left"
    if not far:
        do, command = f"shift the pack {{shift_mm}} to the {side}; {{best_mm}} remains", ""
    elif found.best.limited_by_room:
        do = "the travel of the brackets or the mat's edge allows no better than {best_mm}"
        command = "packsim nozzles shift FILE"
    else:
        do = "shifting the pack helps little ({best_mm}): the nozzle pitch does not suit this size"
        command = "packsim nozzles pitch FILE"
    what = "one lane of cans is {worst_mm} away from its nearest nozzle"
    shift = abs(found.best.shift_for_worst_mm)
    return tell(answer, "watch", what, do, command, worst_mm=now, best_mm=best, shift_mm=shift)
