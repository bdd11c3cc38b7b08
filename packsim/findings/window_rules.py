"""Rules about where the guides may stand: the window, and what the brackets reach."""

import math

from packsim.answers import Answer
from packsim.findings.finding import CHANGE, WHY, Finding, Values, tell, water
from packsim.line import Scenario
from packsim.line.guides import Reach
from packsim.setting import StageSetting, recommend
from packsim.width.guide_window import GuideWindow
from packsim.width.slack_terms import SETTING_STEP

_SAME_MM = 1e-6
"""Settings closer than this are one: numerical."""


def no_window(scenario: Scenario, answer: Answer) -> Finding | None:
    """No guide setting suits every case, and what to reduce until one does."""
    if not _judged(answer) or not answer.window.empty:
        return None
    do, values = set_guides(scenario, answer)
    part = recommended(scenario, answer)
    if part.window.empty:
        ways, more = cures(part.window)
        above = answer.pack.clear_width_mm - part.clear_width_mm
        stands = part.lanes == answer.packs.judged.lanes and (
            0.0 <= above <= answer.budget.setting_step_mm
        )
        do, values = (ways, more) if stands else (f"{ways}; {do}", values | more)
        return no_window_for(answer, do, values)
    opens = f"{as_told(scenario, answer)}: unsafe as is"
    return no_window_for(answer, do, values, opens)


def no_window_for(
    answer: Answer,
    do: str,
    values: Values,
    brief: str = "no safe width: slack must vary less",
) -> Finding:
    """Return the finding of an empty window, with what to do about it."""
    said, share = water(answer)
    largest = max(answer.budget.terms, key=lambda term: term.range_mm)
    lengths = {
        "varies_mm": answer.budget.loosest_mm - answer.budget.tightest_mm,
        "allowed_mm": answer.window.allowed_mm,
        "largest_mm": largest.range_mm,
    }
    what = (
        "no guide setting is safe in every case: the slack can vary by {varies_mm} but only "
        f"{{allowed_mm}} is allowed{said}; largest part: {{largest}}, {{largest_mm}}"
    )
    if answer.tipping.loosest.worst >= 1.0:
        lengths["loosest_mm"] = answer.tipping.loosest_slack_mm
        lengths["safe_mm"] = answer.tipping.safe.slack_mm
        what += "; the slack can reach {loosest_mm}; a can tips if it finds more than {safe_mm}; "
        what += tips_first(answer)
        if answer.tipping.verdict == "loose":
            what += "; only the hold-down stops them"
    return tell(
        answer,
        "change",
        what,
        do,
        WHY,
        brief,
        **lengths,
        largest=largest.name,
        **share,
        **values,
    )


def cures(window: GuideWindow) -> tuple[str, dict[str, float | str]]:
    """Say what to reduce until an empty window opens, and the values in those words."""
    values, parts = dict[str, float | str](), []
    for i, attack in enumerate(window.attack):
        values |= {f"take{i}_mm": attack.take_mm, f"now{i}_mm": attack.now_mm}
        values |= {f"term{i}": attack.term, f"cure{i}": attack.cure}
        part = f"reduce the effect of the {{term{i}}}, {{now{i}_mm}}, by {{take{i}_mm}}"
        if (
            attack.term == SETTING_STEP or attack.now_mm - attack.take_mm < 0.05
        ):  # no part of a step
            part = f"remove the whole effect of the {{term{i}}}, {{now{i}_mm}}"
        parts.append(f"{part}: {{cure{i}}}")
    missing = -window.width_mm - math.fsum(attack.take_mm for attack in window.attack)
    if missing > _SAME_MM:
        values["missing_mm"] = missing
        parts.append(
            "{missing_mm} is still not found: lower the spray pressure, or use cans with a smaller "
            "diameter tolerance"
        )
    return "; ".join(parts), values


def off_window(scenario: Scenario, answer: Answer) -> Finding | None:
    """Guides set outside their window while nothing else said so."""
    window, width = answer.window, answer.pack.clear_width_mm
    if not _judged(answer) or window.empty:
        return None
    do, lengths = set_guides(scenario, answer)
    place = window.verdict(width)
    if place == "too tight":
        what = "tight: in the worst case the pack is {short_mm} wider than the guides"
        brief = f"{as_told(scenario, answer)}: the pack can jam"
        lengths["short_mm"] = window.low_mm - width
        return tell(answer, "change", what, do, CHANGE, brief, **lengths)
    if place == "too loose" and answer.tipping.verdict == "held":
        lengths |= {"loosest_mm": answer.tipping.loosest_slack_mm, "lane_mm": window.allowed_mm}
        what = (
            "wide: slack can reach {loosest_mm}; {lane_mm} is enough for one more lane: the cans "
            "may re-pack into it"
        )
        brief = f"{as_told(scenario, answer)}: the cans may re-pack into one more lane"
        return tell(answer, "change", what, do, CHANGE, brief, **lengths)
    return None


def narrow_window(scenario: Scenario, answer: Answer) -> Finding | None:
    """Window narrower than a setting step, or without a whole one, for the recommended lanes."""
    part = recommended(scenario, answer)
    window, step = part.window, answer.budget.setting_step_mm
    if not _judged(answer) or window.empty or window.width_mm >= step:
        return None
    if off_window(scenario, answer) is not None or part.lanes != answer.packs.judged.lanes:
        return None
    return narrow(answer, part.window, part.clear_width_mm, gauge=part.gauge)


def narrow(answer: Answer, window: GuideWindow, target_mm: float, *, gauge: bool) -> Finding:
    """Return the finding of a window narrower than a setting step, and how to hit it."""
    what = "the guide window, {low_mm} to {high_mm}, is narrower than one setting step of {step_mm}"
    do = "set it to {target_mm} exactly and check it with a gauge"
    if gauge:
        what += " and no whole step lies in it"
        do = "set it to {target_mm} with a gauge"
    return tell(
        answer,
        "watch",
        what,
        do,
        "",
        "set with a gauge: the window is under {step_mm}",
        step_mm=answer.budget.setting_step_mm,
        low_mm=window.low_mm,
        high_mm=window.high_mm,
        target_mm=target_mm,
    )


def bracket_travel(scenario: Scenario, answer: Answer) -> Finding | None:
    """Brackets out of their travel, as they are set or at the setting told."""
    stage = scenario.stage(answer.stage)
    reach = Reach.of(stage.guides, scenario.mat.width_mm)
    end = "the travel of the brackets" if stage.guides.travel_mm else "the mat"
    part = recommended(scenario, answer)
    if part.source == "reach" and answer.pack.fits:
        least, most = reach.widths_mm
        what = f"{end} ends at a clear width of {{reach_mm}}; {{lanes}} lanes need {{need_mm}}"
        narrow = part.clear_width_mm < part.window.low_mm
        return tell(
            answer,
            "change",
            what + (" or more" if narrow else " or less"),
            "move the bracket bases first",
            lanes=str(part.lanes),
            reach_mm=most if narrow else least,
            need_mm=part.window.low_mm if narrow else part.window.high_mm,
        )
    now = reach.farthest_beyond_mm(stage.guides)
    if now <= _SAME_MM:
        return None
    what = f"as set, a guide stands {{beyond_mm}} beyond {end}"
    do = "measure where the guides stand, or correct the travel in the scenario"
    return tell(answer, "change", what, do, beyond_mm=now)


def _judged(answer: Answer) -> bool:
    """Whether a guide window has a meaning: a pack stands, and the sprays do not turn cans over."""
    return answer.pack.fits and answer.worst.balance_rad > 0.0


def tips_first(answer: Answer) -> str:
    """Say which cans tip first."""
    place = "at the guides" if answer.tipping.safe.governing == "edge" else "inside the pack"
    return f"cans {place} tip first"


def recommended(scenario: Scenario, answer: Answer) -> StageSetting:
    """Return what the stage of an answer should be set to for its size."""
    return recommend(scenario, answer.size).of_stage(answer.stage)


def as_told(scenario: Scenario, answer: Answer) -> str:
    """Say in few words what `set_guides` says."""
    moves, _ = _wires_for_guides(answer, recommended(scenario, answer))
    return "move wires and guides" if moves else "set the guides as above"


_OFF_RECORD = (
    "the setting on record, {{target_mm}}, is {} for the guide window, {{low_mm}} to {{high_mm}}: "
    "delete it from the scenario and ask again"
)
"""What to do about a setting on record that is not right for its size."""


def set_guides(scenario: Scenario, answer: Answer) -> tuple[str, dict[str, float | str]]:
    """Say what to set wires and guides to, and the values in those words."""
    part = recommended(scenario, answer)
    wires, values = _wires_for_guides(answer, part)
    values |= {"target_mm": part.clear_width_mm, "set_lanes": str(part.lanes)}
    if part.source == "stays":
        return f"{wires}leave the guides at {{target_mm}}, right for {{set_lanes}} lanes", values
    if part.source == "record":
        place = part.window.verdict(part.clear_width_mm)
        if place != "inside" and not part.window.empty:
            values |= {"low_mm": part.window.low_mm, "high_mm": part.window.high_mm}
            return _OFF_RECORD.format(place), values
        do = "set the guides to {target_mm}, as on record for this size"
        return f"{wires}{do}" + ("" if part.safe else ", not safe in the worst case"), values
    if not part.safe:
        do = "for now set the guides to {target_mm}, not safe but the tightest at which "
        if part.source == "reach":
            do = "set the guides to {target_mm}, not safe but the nearest the brackets reach, "
            do += "the width at which " if not part.jams else "where they jam: do not run "
        tail = "{set_lanes} lanes do not jam" if not part.jams else "{set_lanes} lanes"
        return f"{wires}{do}{tail}", values
    move = part.clear_width_mm - answer.pack.clear_width_mm
    values["move_mm"] = abs(move)
    verb = "open" if move > 0.0 else "close"
    lanes = "" if part.lanes == answer.packs.judged.lanes else " for {set_lanes} lanes"
    gauge = " with a gauge" if part.gauge else ""
    return f"{wires}{verb} the guides by {{move_mm}}, to {{target_mm}}{gauge}{lanes}", values


def _wires_for_guides(answer: Answer, part: StageSetting) -> tuple[str, dict[str, float | str]]:
    """As `wires_first`; no word of wires that hang well enough: no more slack would be allowed."""
    words, lengths = wires_first(part)
    enough = part.window.allowed_mm < answer.window.allowed_mm + 0.1
    return "" if enough else words, lengths


def wires_first(part: StageSetting) -> tuple[str, dict[str, float | str]]:
    """Say which wires to move before the guides, and the lengths in those words."""
    words, lengths = [], dict[str, float | str]()
    moves = [move for move in part.wires.moves if move.direction != "stay"]
    for i, move in enumerate(moves):
        lengths[f"wire{i}_mm"] = move.new_mm
        if move.now_mm is None:
            words.append(f"add a wire at {{wire{i}_mm}}")
            continue
        lengths[f"hung{i}_mm"] = move.now_mm
        verb = "raise" if move.direction == "up" else "lower"
        words.append(f"{verb} the wire at {{hung{i}_mm}} to {{wire{i}_mm}}")
    return f"{', '.join(words)}, then " if words else "", lengths
