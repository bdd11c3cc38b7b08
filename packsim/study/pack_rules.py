"""Rules about the pack between its guides: does it fit, is it loose, where may the guides stand."""

from __future__ import annotations

import math

from packsim.answers import Answer
from packsim.constants import SIN60
from packsim.line import Scenario
from packsim.study.remark import Remark
from packsim.width.slack_budget import SlackBudget

__all__ = ["pack_fits", "parted", "room_for_a_can", "tipping", "window"]


def pack_fits(scenario: Scenario, answer: Answer) -> Remark | None:
    """Nothing fits, or the pack is squeezed."""
    pack = answer.pack
    if not pack.fits and pack.clear_width_mm < pack.diameter_mm:
        return Remark(
            "stop",
            "not even one lane fits: the clear width is {width}",
            "set the guides to at least {need}",
            {"width": pack.clear_width_mm, "need": pack.diameter_mm},
        )
    if not pack.fits:
        return Remark(
            "stop",
            f"no pack of the state {scenario.stage(answer.stage).state} stands here: {pack.reason}",
            "ask for the densest state, or for another width",
        )
    if answer.squeezed:
        return Remark(
            "change",
            f"the guides are {{short}} too narrow for {pack.lanes} lanes: the pack opens "
            f"lengthwise, or keeps {pack.lanes - 1} lanes with {{left}} of slack",
            "open the guides to at least {need}",
            {
                "short": -answer.budget.slack_mm,
                "left": answer.budget.slack_mm + _lane_mm(answer),
                "need": answer.window.low_mm,
            },
        )
    return None


def tipping(scenario: Scenario, answer: Answer) -> Remark | None:
    """Slack that lets a can past its balance point, or near it."""
    found = answer.tipping
    if found.verdict not in ("loose", "can tip") or found.balance_angle_rad <= 0.0:
        return None
    lengths = {"loosest": found.loosest_slack_mm, "safe": found.safe.slack_mm}
    if found.own_index >= 1.0 > found.loosest.worst:
        return Remark(
            "change",
            f"a single can at the {found.own_place} has room to pass its balance point by itself: "
            "the pack is not nested there",
            "use a layout, or a width, that leaves no such pocket",
        )
    if answer.pack.fill < 1.0 and found.gathered.index >= 1.0 > found.loosest.worst:
        return _parted(answer, found.safe.slack_mm, "lets a can past its balance point", "change")
    do = _set_guides(answer, lengths)
    if found.loosest.worst >= 1.0:
        what = (
            "too loose: slack can reach {loosest}, and {safe} lets a can past its balance point; "
        )
        what += "edge cans go first" if found.safe.governing == "edge" else "cans inside go first"
        if found.verdict == "loose":
            what += "; only the hold-down stops them"
        return Remark("change", what, do, lengths)
    lengths["limit"] = found.safe.slack_mm / scenario.factor
    return Remark(
        "change",
        "loose: slack can reach {loosest}; the safe slack of {safe} over the factor of "
        f"{scenario.factor:g} allows {{limit}}",
        do,
        lengths,
    )


def parted(scenario: Scenario, answer: Answer) -> Remark | None:
    """More slack gathers in a pack that is not full than the factor allows."""
    found, allowed = answer.tipping, answer.tipping.safe.slack_mm / scenario.factor
    held = found.verdict == "held" and answer.pack.fill < 1.0
    blocked = answer.hold_down is not None and answer.hold_down.blocks
    if not held or blocked or found.gathered.slack_mm <= allowed:
        return None
    return _parted(answer, allowed, "is allowed", "watch")


def _parted(answer: Answer, limit_mm: float, what_of_it: str, level: str) -> Remark:
    return Remark(
        level,
        f"at a fill of {answer.pack.fill:g} cans part along travel and nest deeper across: "
        f"{{gathered}} of slack can gather, {{limit}} {what_of_it}",
        "keep the infeed full; guides set closer would jam a full pack",
        {"gathered": answer.tipping.gathered.slack_mm, "limit": limit_mm},
    )


def window(_: Scenario, answer: Answer) -> Remark | None:
    """Window empty, or the setting outside it while nothing else said so."""
    if answer.tipping.balance_angle_rad <= 0.0 or not answer.pack.fits:
        return None
    found, budget = answer.window, answer.budget
    if found.empty:
        largest = max(budget.terms, key=lambda term: term.range_mm)
        lengths = {
            "varies": budget.loosest_mm - budget.tightest_mm,
            "allowed": found.allowed_mm,
            "largest": largest.range_mm,
        }
        what = (
            "no guide setting suits every case: slack varies by {varies} and may vary by "
            f"{{allowed}}; largest term: {largest.name}, {{largest}}"
        )
        return Remark("change", what, _attack(answer, lengths), lengths)
    place = found.verdict(answer.pack.clear_width_mm)
    if place == "too tight" and not answer.squeezed:
        lengths = {"short": found.low_mm - answer.pack.clear_width_mm}
        return Remark(
            "change",
            "tight: in the worst case the pack is {short} wider than the guides",
            _set_guides(answer, lengths),
            lengths,
        )
    if place == "too loose" and answer.tipping.verdict == "held":
        lengths = {"loosest": answer.tipping.loosest_slack_mm, "lane": found.allowed_mm}
        return Remark(
            "change",
            "wide: slack can reach {loosest}, and {lane} is room for a lane more: the pack may "
            "nest anew",
            _set_guides(answer, lengths),
            lengths,
        )
    step = {"step": budget.setting_step_mm}
    return Remark("watch", _with_step(found.finding, budget), "", step) if found.finding else None


def room_for_a_can(_: Scenario, answer: Answer) -> Remark | None:
    """Voids that take a whole can."""
    if not answer.pack.fits or not bool(answer.voids.holds_a_can.any()):
        return None
    return Remark(
        "watch",
        "the pack leaves voids in which a whole can could stand ({circle} across)",
        "check the lane count for this width",
        {"circle": float(answer.voids.largest_circle_mm)},
    )


def _lane_mm(answer: Answer) -> float:
    """Width one lane more takes [mm]."""
    return answer.pack.diameter_mm * (SIN60 if answer.pack.layout == "lengthwise" else 0.5)


def _with_step(finding: str, budget: SlackBudget) -> str:
    """Return a window's finding with its setting step left open, to be shown in any unit."""
    return finding.replace(f"{budget.setting_step_mm:g} mm", "{step}")


def _set_guides(answer: Answer, lengths: dict[str, float]) -> str:
    if answer.window.target_mm is None:
        lengths["stopgap"] = answer.window.low_mm
        return "until the window opens, set the guides to {stopgap}, as close as the pack allows"
    move = answer.window.target_mm - answer.pack.clear_width_mm
    lengths["target"] = answer.window.target_mm
    lengths["move"] = abs(move)
    verb = "open" if move > 0.0 else "close"
    return f"{verb} the guides by {{move}}, to {{target}}"


def _attack(answer: Answer, lengths: dict[str, float]) -> str:
    """Say what to reduce, in order, and what is still missing after all of it."""
    window, budget = answer.window, answer.budget
    parts = []
    for i, attack in enumerate(window.attack):
        lengths[f"take{i}"] = attack.take_mm
        parts.append(f"take {{take{i}}} off the {attack.term} ({budget.term(attack.term).remedy})")
    missing = -window.width_mm - math.fsum(attack.take_mm for attack in window.attack)
    if missing > 1e-6:
        lengths["missing"] = missing
        parts.append("{missing} stay missing: raise the safe slack or run cans of closer diameter")
    return "; ".join(parts)
