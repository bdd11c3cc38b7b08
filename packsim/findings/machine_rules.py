"""Rules about what stands around the pack: wires, hold-downs, headers and nozzles."""

from __future__ import annotations

import math
from typing import Final

from packsim.answers import Answer, stage_bands
from packsim.constants import GRAVITY_M_PER_S2
from packsim.findings.finding import CHANGE, DESIGN, WHY, Finding, tell, water
from packsim.findings.window_rules import recommended, wires_first
from packsim.line import Scenario
from packsim.nozzles.lane_lines import MISSES_CAN, worth_a_shift_mm
from packsim.tipping.stops import HoldDown, clearance_limit_mm

NO_HARM = "it does no harm: leave it or take it off"
"""What to do about a wire that serves no size."""


def wires(scenario: Scenario, answer: Answer) -> Finding | None:
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
    do, values = wires_first(recommended(scenario, answer))
    return tell(
        answer,
        "stop",
        "every guide wire is above the can tops: nothing supports an edge can",
        do.removesuffix(", then ") or "add or lower a wire to below {top_mm}",
        CHANGE,
        top_mm=answer.stance.height_mm,
        **values,
    )


def idle_wire(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find wires in no band of any size that hold no edge can either; told once, of one size.

    Not those that the recommended setting gives something to do.
    """
    stage = scenario.stage(answer.stage)
    if answer.size != scenario.set_for:
        return None
    bands = [band for can in scenario.sizes for band in stage_bands(stage, can)]
    heights = stage.guides.wires.heights_mm
    holds = {max((z for z in heights if z < c.height_mm), default=0) for c in scenario.sizes}
    idle = [z for z in heights if z not in holds and not any(band.holds(z) for band in bands)]
    moved = [m.now_mm for m in recommended(scenario, answer).wires.moves if m.move_mm]
    idle = [z for z in idle if z not in moved]
    if not idle:
        return None
    which = " and ".join(f"{{wire{i}_mm}}" for i in range(len(idle)))
    one = len(idle) == 1
    return tell(
        answer,
        "note",
        f"the {'wire' if one else 'wires'} at {which} {'serves' if one else 'serve'} no size: too "
        "high or too low for a can's foot and for its wall above the centre of gravity",
        NO_HARM if one else NO_HARM.replace("it does", "they do").replace(" it", " them"),
        WHY,
        f"{'wire' if one else 'wires'} at {which} {'serves' if one else 'serve'} no size",
        **{f"wire{i}_mm": z for i, z in enumerate(idle)},
    )


def hold_down_crushes(scenario: Scenario, answer: Answer) -> Finding | None:
    """Hold-down too low."""
    mat = answer.hold_down
    if mat is None or mat.state != "crushes":
        return None
    set_mm, limit_mm = _hold_down_at_mm(scenario, answer, mat)
    return tell(
        answer,
        "stop",
        "the hold-down is {below_mm} too low: it would crush the cans",
        "set its underside {set_mm} above the mat (up to {limit_mm} it stops a tipping can)",
        "",
        "hold-down crushes cans: set {set_mm}",
        below_mm=-mat.clearance_mm,
        set_mm=set_mm,
        limit_mm=answer.stance.height_mm + limit_mm,
    )


def hold_down_height(scenario: Scenario, answer: Answer) -> Finding | None:
    """Hold-down too high, or idle."""
    mat = answer.hold_down
    if mat is None or mat.blocks or mat.state == "crushes":
        return None
    set_mm, limit_mm = _hold_down_at_mm(scenario, answer, mat)
    return tell(
        answer,
        "change",
        "the hold-down stands {clearance_mm} over the can tops and no longer keeps cans from "
        "tipping",
        "lower its underside to {set_mm} above the mat; it must be less than {limit_mm} over the "
        "tops",
        "",
        "lower the hold-down to {set_mm} above the mat",
        set_mm=set_mm,
        clearance_mm=mat.clearance_mm,
        limit_mm=limit_mm,
    )


def _hold_down_at_mm(scenario: Scenario, answer: Answer, mat: HoldDown) -> tuple[float, float]:
    """Height over the mat at which it is to be set, and below what clearance it holds cans."""
    limit_mm = mat.limit_mm
    if (
        limit_mm <= 0.0
    ):  # the sprays alone carry a can over: no clearance holds it, one at rest does
        limit_mm = clearance_limit_mm(answer.stance, answer.worst.at_rest.balance_angle_rad)
    move = recommended(scenario, answer).hold_down
    return answer.stance.height_mm + limit_mm / 2.0 if move is None else move.new_mm, limit_mm


def header_height(scenario: Scenario, answer: Answer) -> Finding | None:
    """Spray header that hangs into the cans."""
    stage, top = scenario.stage(answer.stage), answer.stance.height_mm
    clear = answer.headers
    low = [header.mat_distance_mm for header in stage.headers if header not in clear]
    if not low:
        return None
    what = "a spray header hangs {below_mm} below the can tops"
    do = "raise its nozzles above {top_mm}"
    return tell(answer, "stop", what, do, below_mm=top - min(low), top_mm=top)


def sprays_alone(_: Scenario, answer: Answer) -> Finding | None:
    """Sprays that lift a can, or turn it over with no slack at all."""
    if not answer.sprayed:
        return None
    load = answer.lightest if answer.worst.may_lift else None
    lifted = 0 if load is None else int(load.lifted.sum())
    if lifted:
        return tell(
            answer,
            "stop",
            "the sprays from below lift the cans of {lanes}",
            "lower the pressure below the mat, or raise it above",
            WHY,
            lanes="one lane" if lifted == 1 else f"{lifted} lanes",
        )
    if answer.worst.balance_rad > 0.0:
        return None
    said, share = water(answer)
    return tell(
        answer,
        "stop",
        "the sprays alone carry a can past its balance point in the worst lane" + said,
        "bring the nozzles over the can centres or lower the pressure",
        WHY,
        **share,
    )


def sprays_halve(scenario: Scenario, answer: Answer) -> Finding | None:
    """Sprays that leave a can less than half of its balance angle."""
    found = answer.tipping
    if not answer.sprayed or found.worst.balance_rad >= 0.5 * found.worst.at_rest.balance_angle_rad:
        return None
    if sprays_alone(scenario, answer) is not None:
        return None
    said, share = water(answer)
    return tell(
        answer,
        "watch",
        "under the strongest spray a can tips at less than half its angle at rest" + said,
        "see which headers press it over, and what a shift of the pack gains",
        WHY,
        "sprays halve the tip angle or worse",
        **share,
    )


def mat_jolts(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find starts, stops or jogs of the mat that tip a can which nothing holds along travel."""
    given = scenario.mat.start_acceleration_mm_per_s2 / 1e3
    found = answer.tipping
    # a mat that speeds up at a leans the weight of all on it by atan(a/g)
    rest, sprayed = (
        GRAVITY_M_PER_S2 * math.tan(angle)
        for angle in (found.worst.at_rest.balance_angle_rad, found.worst.weakest_rad)
    )
    if given == 0.0 or given < min(rest, sprayed):
        return None
    return tell(
        answer,
        "change" if given >= rest else "watch",
        "starts, stops or jogs of the mat at {given} m/s² tip a can that stands free along travel: "
        "{rest} m/s² do at rest, {sprayed} m/s² under the strongest spray",
        "start and stop more gently"
        if given >= rest
        else "shut the sprays off before the mat stops, or stop it more gently",
        WHY,
        given=f"{given:.2g}",
        rest=f"{rest:.2g}",
        sprayed=f"{sprayed:.2g}",
    )


def nozzles(scenario: Scenario, answer: Answer) -> Finding | None:
    """Nozzles miss the can centres, and the recommended setting mends it or cannot."""
    found = answer.alignment
    if found is None:
        return None
    now, part = found.now.worst_mm, recommended(scenario, answer)
    lanes_stay = part.lanes == answer.packs.judged.lanes
    far = part.offset_mm > MISSES_CAN * answer.pack.diameter_mm
    if now - part.offset_mm <= worth_a_shift_mm(answer.pack.diameter_mm) and not far:
        return None
    values: dict[str, float | str] = {
        "worst_mm": now,
        "best_mm": part.offset_mm,
        "set_lanes": str(part.lanes),
    }
    if not far and lanes_stay:
        side = "right" if part.shift_mm > 0.0 else "left"
        do = f"shift the pack {{shift_mm}} to the {side}; {{best_mm}} remains"
        values["shift_mm"], command = abs(part.shift_mm), CHANGE
    elif not far:
        do, command = "set the guides for {set_lanes} lanes; {best_mm} remains", CHANGE
    elif lanes_stay and found.best.limited_by_room:
        do = "the travel of the brackets or the mat's edge allows no better than {best_mm}"
        values["best_mm"], command = found.best.worst_mm, "packsim nozzles shift FILE"
    elif lanes_stay:
        do = "no shift brings it nearer than {best_mm}: the nozzle pitch does not suit this size"
        values["best_mm"], command = found.best.worst_mm, DESIGN
    else:
        command = DESIGN
        do = (
            "{set_lanes} lanes, as recommended, leave {best_mm}: the nozzle pitch does not suit "
            "this size"
        )
    what = "one lane of cans is {worst_mm} away from its nearest nozzle"
    return tell(answer, "watch", what, do, command, "a lane is {worst_mm} off its nozzle", **values)


STOPPING: Final = (wires, hold_down_crushes, header_height, sprays_alone)
"""Those of them that may say that cans cannot run so."""
