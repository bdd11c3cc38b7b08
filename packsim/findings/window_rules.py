"""Rules about where the guides may stand: the window, and what the brackets reach."""

from __future__ import annotations

import math

from packsim.answers import Answer
from packsim.findings.finding import WHY, Finding, tell
from packsim.line import Scenario, Stage
from packsim.width.reach import Reach

_SAME_MM = 1e-6
"""Settings closer than this are one: numerical."""


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
    what = (
        "no guide setting is safe in every case: the slack can vary by {varies_mm} but only "
        "{allowed_mm} is allowed; largest part: {largest}, {largest_mm}"
    )
    if answer.tipping.loosest.worst >= 1.0:
        lengths["loosest_mm"] = answer.tipping.loosest_slack_mm
        lengths["safe_mm"] = answer.tipping.safe.slack_mm
        what += "; now it can reach {loosest_mm}; a can tips if it finds more than {safe_mm}; "
        what += tips_first(answer)
        if answer.tipping.verdict == "loose":
            what += "; only the hold-down stops them"
    above = answer.pack.clear_width_mm - window.low_mm
    if not 0.0 <= above <= budget.setting_step_mm:
        do, stopgap = set_guides(answer)
        parts.append(do)
        lengths |= stopgap
    return tell(
        answer,
        "change",
        what,
        "; ".join(parts),
        WHY,
        "no safe setting until the slack varies less",
        **lengths,
        **words,
    )


def off_window(_: Scenario, answer: Answer) -> Finding | None:
    """Guides set outside their window while nothing else said so."""
    window, width = answer.window, answer.pack.clear_width_mm
    if not _judged(answer) or window.empty:
        return None
    do, lengths = set_guides(answer)
    place = window.verdict(width)
    if place == "too tight":
        what = "tight: in the worst case the pack is {short_mm} wider than the guides"
        short, brief = window.low_mm - width, "set the guides as told above: the pack can jam"
        return tell(answer, "change", what, do, "", brief, short_mm=short, **lengths)
    if place == "too loose" and answer.tipping.verdict == "held":
        lengths |= {"loosest_mm": answer.tipping.loosest_slack_mm, "lane_mm": window.allowed_mm}
        what = (
            "wide: slack can reach {loosest_mm}; {lane_mm} is enough for one more lane: the cans "
            "may re-pack into it"
        )
        brief = "set the guides as told above: the cans may re-pack into one more lane"
        return tell(answer, "change", what, do, "", brief, **lengths)
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
    brief = "set the guides with a gauge: the window is narrower than {step_mm}"
    if window.on_step:
        do = "set it to {target_mm} exactly and check it with a gauge"
        return tell(answer, "watch", what, do, "", brief, **lengths)
    what += " and no whole step lies in it"
    return tell(answer, "watch", what, "set it to {target_mm} with a gauge", "", brief, **lengths)


def bracket_travel(scenario: Scenario, answer: Answer) -> Finding | None:
    """Brackets out of their travel, as they are set or at the setting told."""
    stage = scenario.stage(answer.stage)
    reach = Reach.of(stage.guides, scenario.mat.width_mm)
    end = "the travel of the brackets" if stage.guides.travel_mm else "the mat"
    width = answer.window.setting_mm
    needed = reach.farthest_beyond_mm(stage.guides.set_to(width)) if answer.pack.fits else 0.0
    if needed > _SAME_MM:
        do, lengths = _way_out(stage, reach, width)
        lengths |= {"width_mm": width, "beyond_mm": needed}
        what = f"at the {{width_mm}} to set, a guide would stand {{beyond_mm}} beyond {end}"
        return tell(answer, "change", what, do, **lengths)
    now = reach.farthest_beyond_mm(stage.guides)
    if now <= _SAME_MM:
        return None
    what = f"as set, a guide stands {{beyond_mm}} beyond {end}"
    do = "measure where the guides stand, or correct the travel in the scenario"
    return tell(answer, "change", what, do, beyond_mm=now)


def _way_out(stage: Stage, reach: Reach, width_mm: float) -> tuple[str, dict[str, float]]:
    """Say by which shift of the pass the width can be reached, or that none does."""
    low, high = reach.centres_mm(width_mm)
    if low > high:
        least, most = reach.widths_mm
        do = "move the bracket bases first: they reach clear widths of {least_mm} to {most_mm}"
        return do, {"least_mm": least, "most_mm": most}
    centre = stage.guides.centre_mm
    shift = min(max(centre, low), high) - centre
    side = "right" if shift > 0.0 else "left"
    return f"set the middle of the pass {{shift_mm}} to the {side}", {"shift_mm": abs(shift)}


def _judged(answer: Answer) -> bool:
    """Whether a guide window has a meaning: a pack stands, and the sprays do not turn cans over."""
    return answer.pack.fits and answer.tipping.balance_angle_rad > 0.0


def tips_first(answer: Answer) -> str:
    """Say which cans tip first."""
    place = "at the guides" if answer.tipping.safe.governing == "edge" else "inside the pack"
    return f"cans {place} tip first"


def set_guides(answer: Answer) -> tuple[str, dict[str, float]]:
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
