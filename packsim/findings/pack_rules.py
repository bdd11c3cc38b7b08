"""Rules about the pack between its guides: does it fit, can it tip, where does slack gather."""

import math
from typing import Final

from packsim.answers import Answer
from packsim.answers.misfit import misfit
from packsim.findings.finding import CHANGE, WHY, Finding, tell, water
from packsim.findings.window_rules import as_told, no_window, set_guides, tips_first
from packsim.line import Scenario
from packsim.pack.crosswise import row_parting
from packsim.pack.lattice import lanes_width_mm
from packsim.width.lane_rule import lanes_per_metre

TIPS_A_CAN = "{limit_mm} is enough to tip a can"


def fits(scenario: Scenario, answer: Answer) -> Finding | None:
    """No pack stands here."""
    pack = answer.pack
    if pack.fits:
        return None
    return tell(
        answer,
        "stop",
        "not even one lane fits: the clear width is {width_mm}",
        "set the guides to at least {need_mm}",
        width_mm=pack.clear_width_mm,
        need_mm=pack.diameter_mm,
    )


def holds_the_line(scenario: Scenario, answer: Answer) -> Finding | None:
    """Fewer cans fit here than the infeed brings."""
    can = scenario.size(answer.size)
    found = misfit(scenario, scenario.stage(answer.stage), can)
    if found is None or not answer.pack.fits:
        return None
    brought = found.brought_lanes
    return tell(
        answer,
        "stop",
        "{lanes} lanes fit in {width_mm}, but the infeed brings {brought}: the pack jams",
        "open the guides to at least {need_mm}, or close the first stage to {lanes} lanes",
        lanes=str(found.lanes),
        brought=str(brought),
        width_mm=answer.pack.clear_width_mm,
        need_mm=lanes_width_mm(brought, can.diameter_mm, answer.pack.layout),
    )


def asked_state(scenario: Scenario, answer: Answer) -> Finding | None:
    """Tell of a state asked for that this width cannot hold."""
    asked = scenario.stage(answer.stage).state
    if asked not in ("strained", "blocks") or not answer.pack.fits or answer.might_be is not None:
        return None
    what = "no pack of the state {state} stands here; every answer is for lanes with slack"
    return tell(answer, "note", what, "leave packing out of the scenario", state=asked)


def squeezed_lanes(scenario: Scenario, answer: Answer) -> Finding | None:
    """Too narrow for one lane more: it is squeezed, or the pack runs loose without it."""
    might_be, lanes = answer.might_be, answer.packs.judged.lanes
    if might_be is None or might_be.state != "squeezed" or _thin(answer):
        return None
    inside = answer.window.verdict(answer.pack.clear_width_mm) == "inside"
    if inside and answer.tipping.loosest.verdict == "held":
        return None  # set for the fewer lanes
    do, lengths = set_guides(scenario, answer)
    lengths["short_mm"] = might_be.squeezed_mm
    what = "{short_mm} too narrow for {more} lanes: they are squeezed, or {lanes} lanes stay, and "
    what, level = _loose_or_held(answer, what, lengths)
    words = {"more": str(might_be.lanes), "lanes": str(lanes)}
    brief = f"{as_told(scenario, answer)}: {{short_mm}} too narrow for {{more}} lanes"
    return tell(answer, level, what, do, CHANGE, brief, **lengths, **words)


def thin_infeed(scenario: Scenario, answer: Answer) -> Finding | None:
    """So few cans come that fewer lanes than fit could carry them."""
    packs, pack = answer.packs, answer.pack
    if not _thin(answer):
        return None
    most = lanes_per_metre(packs.fit_lanes, pack.diameter_mm, pack.layout)
    fewer = lanes_per_metre(packs.fit_lanes - 1, pack.diameter_mm, pack.layout)
    lengths: dict[str, float | str] = {}
    what = "{fit} lanes fit, but at a fill of {fill} the infeed may bring {lanes}, and "
    what, level = _loose_or_held(answer, what, lengths)
    return tell(
        answer,
        level,
        what,
        "keep the infeed fuller than {need}; or set the guides for {lanes} lanes",
        WHY,
        "keep the infeed fuller than {need}: it may bring {lanes} lanes",
        fit=str(packs.fit_lanes),
        lanes=str(packs.judged.lanes),
        fill=f"{scenario.stage(answer.stage).fill:g}",
        need=f"{fewer / most:.3f}",
        **lengths,
    )


def _thin(answer: Answer) -> bool:
    return answer.packs.fit_lanes > answer.packs.judged.lanes


def _loose_or_held(answer: Answer, what: str, lengths: dict[str, float | str]) -> tuple[str, str]:
    """End a finding about fewer lanes by what their slack does; its lengths are added."""
    found = answer.tipping
    said, share = water(answer)
    lengths |= {"loosest_mm": found.loosest_slack_mm, "safe_mm": found.safe.slack_mm, **share}
    if found.loosest.verdict == "can tip" and not answer.tipping.blocked:
        what += "their slack can reach {loosest_mm}; a can tips if it finds more than {safe_mm}"
        what += said
        return what, "change"
    lengths["safe_mm"] = found.allowed_slack_mm
    what += "their slack can reach {loosest_mm}; {safe_mm} is allowed" + said
    return what, "watch" if found.loosest.verdict == "held" else "change"


def tipping(scenario: Scenario, answer: Answer) -> Finding | None:
    """Slack that lets a can past its balance point, or near it."""
    found = answer.tipping
    if found.verdict not in ("loose", "can tip") or found.worst.balance_rad <= 0.0:
        return None
    if found.loosest.worst < 1.0 <= found.own.index:
        return tell(
            answer,
            "change",
            "a single can at the {place} has room to pass its balance point by itself: the pack "
            "is not nested there",
            "use a layout, or a width, that leaves no such pocket",
            WHY,
            place=found.own.place,
        )
    if answer.pack.fill < 1.0 and found.loosest.worst < 1.0 <= found.gathered.index:
        return _parted(answer, found.safe.slack_mm, TIPS_A_CAN, "change")
    if squeezed_lanes(scenario, answer) or thin_infeed(scenario, answer):
        return None  # one cause, one finding
    if no_window(scenario, answer) is not None:
        return None
    do, lengths = set_guides(scenario, answer)
    said, share = water(answer)
    lengths |= {"loosest_mm": found.loosest_slack_mm, "safe_mm": found.safe.slack_mm, **share}
    if found.loosest.worst >= 1.0:
        what = (
            "too loose: slack can reach {loosest_mm}; a can tips if it finds more than the safe "
            f"slack, {{safe_mm}}{said}; {tips_first(answer)}"
        )
        brief = f"{as_told(scenario, answer)}: cans can tip"
        if found.verdict == "loose":
            what += "; only the hold-down stops them"
            brief = f"{as_told(scenario, answer)}: only the hold-down keeps cans from tipping"
        return tell(answer, "change", what, do, CHANGE, brief, **lengths)
    return tell(
        answer,
        "change",
        "loose: slack can reach {loosest_mm}; allowed is {limit_mm}, the safe slack of {safe_mm}"
        f"{said} "
        "divided by the safety factor {factor}",
        do,
        CHANGE,
        f"{as_told(scenario, answer)}: too much slack",
        limit_mm=found.allowed_slack_mm,
        factor=f"{scenario.factor:g}",
        **lengths,
    )


def parted(_: Scenario, answer: Answer) -> Finding | None:
    """More slack gathers in a pack that is not full than the factor allows."""
    found, allowed = answer.tipping, answer.tipping.allowed_slack_mm
    held = found.verdict == "held" and answer.pack.fill < 1.0
    if not held or answer.tipping.blocked or found.gathered.slack_mm <= allowed:
        return None
    return _parted(answer, allowed, "{limit_mm} is allowed", "watch")


def _parted(answer: Answer, limit_mm: float, what_of_it: str, level: str) -> Finding:
    return tell(
        answer,
        level,
        "at a fill of {fill} gaps open along the travel and the rows sink into each other: "
        "{gathered_mm} of slack can gather, " + what_of_it,
        "keep the infeed full: in a full pack there are no such gaps",
        "",
        "keep the infeed full: the rows sink into each other, slack gathers",
        fill=f"{answer.pack.fill:g}",
        gathered_mm=answer.tipping.gathered.slack_mm,
        limit_mm=limit_mm,
    )


def pockets(scenario: Scenario, answer: Answer) -> Finding | None:
    """Short rows that could gather more slack than is safe, however close the guides stand."""
    safe = answer.tipping.safe.slack_mm
    if safe <= 0.0 or answer.tipping.blocked:
        return None
    found, limit, past = row_parting(answer.pack, safe), safe, TIPS_A_CAN
    if found is not None and not found.can_gather:
        limit, past = answer.tipping.allowed_slack_mm, "{limit_mm} is the most allowed"
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
    return tell(
        answer,
        "watch",
        "rows straight across leave pockets of {pocket_mm} at the guides: "
        f"{when} a row with a pocket can spread until it has {{row_mm}} of slack; {past}",
        "keep the infeed full and the rows together: no guide setting closes a pocket",
        "",
        "keep the infeed full or pockets form",
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
    return tell(
        answer,
        "watch",
        "the pack leaves voids in which a whole can could stand ({circle_mm} across)",
        "check the lane count for this width",
        WHY,
        circle_mm=float(answer.voids.largest_circle_mm),
    )


STOPPING: Final = (fits, holds_the_line)
"""Those of them that may say that cans cannot run so."""
