"""Rules about the pack between its guides: does it fit, is it loose, where may the guides stand."""

from __future__ import annotations

import math

from packsim.answers import Answer
from packsim.findings.finding import Finding, finding
from packsim.line import Scenario
from packsim.tipping.row_parting import row_parting
from packsim.width.lane_choice import lane_pitch_mm

__all__ = [
    "WHY",
    "fits",
    "narrow_window",
    "no_window",
    "off_window",
    "parted",
    "pockets",
    "room_for_a_can",
    "squeezed_lanes",
    "tipping",
]

WHY = "packsim why FILE --stage {stage} --size {size}"
TIPS_A_CAN = "{limit_mm} is enough to tip a can"


def fits(scenario: Scenario, answer: Answer) -> Finding | None:
    """No pack stands here."""
    pack = answer.pack
    if pack.fits:
        return None
    if pack.clear_width_mm < pack.diameter_mm:
        return finding(
            answer,
            "stop",
            "not even one lane fits: the clear width is {width_mm}",
            "set the guides to at least {need_mm}",
            width_mm=pack.clear_width_mm,
            need_mm=pack.diameter_mm,
        )
    return finding(
        answer,
        "stop",
        "no pack of the state {state} stands here: {reason}",
        "ask for the densest state, or for another width",
        state=scenario.stage(answer.stage).state,
        reason=pack.reason,
    )


def squeezed_lanes(_: Scenario, answer: Answer) -> Finding | None:
    """More lanes than there is width for."""
    pack, budget = answer.pack, answer.budget
    if not pack.fits or not answer.squeezed:
        return None
    return finding(
        answer,
        "change",
        "the guides are {short_mm} too narrow for {lanes} lanes: rows move apart along the mat, "
        "or one lane drops out and leaves {fewer} lanes with {left_mm} of slack",
        "open the guides to at least {need_mm}",
        short_mm=-budget.slack_mm,
        lanes=str(pack.lanes),
        fewer=str(pack.lanes - 1),
        left_mm=budget.slack_mm + lane_pitch_mm(pack.diameter_mm, pack.layout),
        need_mm=answer.window.low_mm,
    )


def tipping(scenario: Scenario, answer: Answer) -> Finding | None:
    """Slack that lets a can past its balance point, or near it."""
    found = answer.tipping
    if found.verdict not in ("loose", "can tip") or found.balance_angle_rad <= 0.0:
        return None
    if found.own_index >= 1.0 > found.loosest.worst:
        return finding(
            answer,
            "change",
            "a single can at the {place} has room to pass its balance point by itself: the pack "
            "is not nested there",
            "use a layout, or a width, that leaves no such pocket",
            WHY,
            place=found.own_place,
        )
    if answer.pack.fill < 1.0 and found.gathered.index >= 1.0 > found.loosest.worst:
        return _parted(answer, found.safe.slack_mm, TIPS_A_CAN, "change")
    do, lengths = _set_guides(answer)
    lengths |= {"loosest_mm": found.loosest_slack_mm, "safe_mm": found.safe.slack_mm}
    if found.loosest.worst >= 1.0:
        place = "at the guides" if found.safe.governing == "edge" else "inside the pack"
        what = (
            "too loose: slack can reach {loosest_mm}; a can tips if it finds more than the safe "
            f"slack, {{safe_mm}}; cans {place} tip first"
        )
        if found.verdict == "loose":
            what += "; only the hold-down stops them"
        return finding(answer, "change", what, do, WHY, **lengths)
    return finding(
        answer,
        "change",
        "loose: slack can reach {loosest_mm}; allowed is {limit_mm}, the safe slack of {safe_mm} "
        "divided by the safety factor {factor}",
        do,
        WHY,
        limit_mm=found.safe.slack_mm / scenario.factor,
        factor=f"{scenario.factor:g}",
        **lengths,
    )


def parted(scenario: Scenario, answer: Answer) -> Finding | None:
    """More slack gathers in a pack that is not full than the factor allows."""
    found, allowed = answer.tipping, answer.tipping.safe.slack_mm / scenario.factor
    held = found.verdict == "held" and answer.pack.fill < 1.0
    if not held or _blocked(answer) or found.gathered.slack_mm <= allowed:
        return None
    return _parted(answer, allowed, "{limit_mm} is allowed", "watch")


def _parted(answer: Answer, limit_mm: float, what_of_it: str, level: str) -> Finding:
    return finding(
        answer,
        level,
        "at a fill of {fill} gaps open along the travel and the rows sink into each other: "
        "{gathered_mm} of slack can gather, " + what_of_it,
        "keep the infeed full; guides set closer would jam a full pack",
        fill=f"{answer.pack.fill:g}",
        gathered_mm=answer.tipping.gathered.slack_mm,
        limit_mm=limit_mm,
    )


def _blocked(answer: Answer) -> bool:
    return answer.hold_down is not None and answer.hold_down.blocks


def no_window(_: Scenario, answer: Answer) -> Finding | None:
    """No guide setting suits every case, and what to reduce until one does."""
    window, budget = answer.window, answer.budget
    if not _judged(answer) or not window.empty:
        return None
    largest = max(budget.terms, key=lambda term: term.range_mm)
    lengths = {
        "varies_mm": budget.loosest_mm - budget.tightest_mm,
        "allowed_mm": window.allowed_mm,
        "largest_mm": largest.range_mm,
    }
    words, parts = {"largest": largest.name}, []
    for i, attack in enumerate(window.attack):
        lengths[f"take{i}_mm"], lengths[f"now{i}_mm"] = attack.take_mm, attack.now_mm
        words[f"term{i}"], words[f"cure{i}"] = attack.term, attack.cure
        part = f"reduce the effect of the {{term{i}}}, {{now{i}_mm}}, by {{take{i}_mm}}"
        if attack.now_mm - attack.take_mm < 0.05:
            part = f"remove the whole effect of the {{term{i}}}, {{now{i}_mm}}"
        parts.append(f"{part}: {{cure{i}}}")
    missing = -window.width_mm - math.fsum(attack.take_mm for attack in window.attack)
    if missing > 1e-6:
        lengths["missing_mm"] = missing
        parts.append(
            "{missing_mm} is still not found: raise the top wire, lower the spray pressure, or "
            "use cans with a smaller diameter tolerance"
        )
    return finding(
        answer,
        "change",
        "no guide setting is safe in every case: the slack can vary by {varies_mm} but only "
        "{allowed_mm} is allowed; largest part: {largest}, {largest_mm}",
        "; ".join(parts),
        WHY,
        **lengths,
        **words,
    )


def off_window(_: Scenario, answer: Answer) -> Finding | None:
    """Guides set outside their window while nothing else said so."""
    window, width = answer.window, answer.pack.clear_width_mm
    if not _judged(answer) or window.empty:
        return None
    do, lengths = _set_guides(answer)
    place = window.verdict(width)
    if place == "too tight" and not answer.squeezed:
        what = "tight: in the worst case the pack is {short_mm} wider than the guides"
        return finding(answer, "change", what, do, short_mm=window.low_mm - width, **lengths)
    if place == "too loose" and answer.tipping.verdict == "held":
        lengths |= {"loosest_mm": answer.tipping.loosest_slack_mm, "lane_mm": window.allowed_mm}
        what = (
            "wide: slack can reach {loosest_mm}; {lane_mm} is enough for one more lane: the cans "
            "may re-pack into it"
        )
        return finding(answer, "change", what, do, **lengths)
    return None


def narrow_window(scenario: Scenario, answer: Answer) -> Finding | None:
    """Window narrower than a setting step, or without a whole one."""
    window, step = answer.window, answer.budget.setting_step_mm
    if not _judged(answer) or window.target_mm is None or window.width_mm >= step:
        return None
    if off_window(scenario, answer) is not None:
        return None
    lengths = {
        "step_mm": step,
        "low_mm": window.low_mm,
        "high_mm": window.high_mm,
        "target_mm": window.target_mm,
    }
    what = "the guide window, {low_mm} to {high_mm}, is narrower than one setting step of {step_mm}"
    if window.on_step:
        do = "set it to {target_mm} exactly and check it with a gauge"
        return finding(answer, "watch", what, do, **lengths)
    what += " and no whole step lies in it"
    return finding(answer, "watch", what, "set it to {target_mm} with a gauge", **lengths)


def pockets(scenario: Scenario, answer: Answer) -> Finding | None:
    """Short rows that could gather more slack than is safe, however close the guides stand."""
    safe = answer.tipping.safe.slack_mm
    if safe <= 0.0 or _blocked(answer):
        return None
    found, limit, past = row_parting(answer.pack, safe), safe, TIPS_A_CAN
    if found is not None and not found.can_gather:
        limit, past = safe / scenario.factor, "{limit_mm} is the most allowed"
        found = row_parting(answer.pack, limit)
    if found is None or not found.can_gather or found.parting_mm <= 0.0:
        return None  # nothing to part: the slack of full rows is past it already, and said so
    room_mm = scenario.stage(answer.stage).length_mm * (1.0 - answer.pack.fill)
    if room_mm < found.parting_mm:
        when = "if rows close up by {part_mm}, more than the whole stage has at this fill,"
    else:
        rows = max(1, math.ceil(found.rows))
        close = f"{rows} rows close" if rows > 1 else "one row closes"
        when = f"at a fill of {{fill}}, if {close} up by {{part_mm}} in total,"
    return finding(
        answer,
        "watch",
        "rows straight across leave pockets of {pocket_mm} at the guides: "
        f"{when} a row with a pocket can spread until it has {{row_mm}} of slack; {past}",
        "keep the infeed full and the rows together: no guide setting closes a pocket",
        pocket_mm=found.pocket_mm,
        part_mm=found.parting_mm,
        row_mm=found.row_slack_mm,
        limit_mm=limit,
        fill=f"{answer.pack.fill:g}",
    )


def room_for_a_can(_: Scenario, answer: Answer) -> Finding | None:
    """Voids that take a whole can."""
    if not answer.pack.fits or not bool(answer.voids.holds_a_can.any()):
        return None
    return finding(
        answer,
        "watch",
        "the pack leaves voids in which a whole can could stand ({circle_mm} across)",
        "check the lane count for this width",
        WHY,
        circle_mm=float(answer.voids.largest_circle_mm),
    )


def _judged(answer: Answer) -> bool:
    """Whether a guide window has a meaning: a pack stands, and the sprays do not turn cans over."""
    return answer.pack.fits and answer.tipping.balance_angle_rad > 0.0


def _set_guides(answer: Answer) -> tuple[str, dict[str, float]]:
    """Say what to set the guides to, and the lengths in those words."""
    target = answer.window.target_mm
    if target is None:
        return (
            "no setting is safe yet; for now set {stopgap_mm}, the tightest at which the pack "
            "does not jam",
            {"stopgap_mm": answer.window.low_mm},
        )
    move = target - answer.pack.clear_width_mm
    verb = "open" if move > 0.0 else "close"
    lengths = {"target_mm": target, "move_mm": abs(move)}
    return f"{verb} the guides by {{move_mm}}, to {{target_mm}}", lengths
