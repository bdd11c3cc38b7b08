"""The rules findings are made by, each for one setup."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from packsim.line import Scenario
from packsim.setting.slack_budget import SlackBudget
from packsim.setup import Setup, clear_headers

__all__ = ["RULES", "WORTH_A_SHIFT_MM", "Remark"]

WORTH_A_SHIFT_MM: Final = 1.0
"""A shift that gains less than this is lost in the setting of the brackets (common practice, no
source: brackets are set to about a millimetre)."""

MISSES_CAN: Final = 0.25
"""Share of a diameter: a nozzle farther than this from the can centre aims nearer the wall than
the middle (plain geometry; half way from centre to wall)."""


@dataclass(frozen=True, slots=True)
class Remark:
    """What a rule has to say about one setup; texts hold ``{name}`` for each length."""

    level: str
    what: str
    do: str = ""
    lengths_mm: Mapping[str, float] = field(default_factory=dict)


Rule = Callable[[Scenario, Setup], Remark | None]


def pack_fits(scenario: Scenario, setup: Setup) -> Remark | None:
    """Nothing fits, or the pack is squeezed."""
    pack = setup.pack
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
            f"no pack of the state {scenario.stage(setup.stage).state} stands here: {pack.reason}",
            "ask for the densest state, or for another width",
        )
    if _squeezed(setup):
        return Remark(
            "change",
            f"the guides are {{short}} too narrow for {pack.lanes} lanes: the pack does not jam, "
            "it opens lengthwise",
            "open the guides to at least {need}",
            {"short": -setup.budget.residual_mm, "need": setup.window.low_mm},
        )
    return None


def hold_down_height(_: Scenario, setup: Setup) -> Remark | None:
    """Hold-down mat too low, too high, or idle."""
    mat = setup.hold_down
    if mat is None or mat.blocks:
        return None
    top = setup.stance.height_mm
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


def header_height(scenario: Scenario, setup: Setup) -> Remark | None:
    """Spray header that hangs into the cans."""
    stage = scenario.stage(setup.stage)
    low = [
        h.mat_distance_mm
        for h in stage.headers
        if h not in clear_headers(stage, setup.stance.height_mm)
    ]
    if not low:
        return None
    return Remark(
        "stop",
        "a spray header hangs {below} below the can tops",
        "raise its nozzles above {top}",
        {"below": setup.stance.height_mm - min(low), "top": setup.stance.height_mm},
    )


def sprays_alone(_: Scenario, setup: Setup) -> Remark | None:
    """Sprays that lift a can, or turn it over with no slack at all."""
    if setup.spray is None:
        return None
    lifted = int(setup.spray.lifted.sum())
    if lifted:
        lanes = "one lane" if lifted == 1 else f"{lifted} lanes"
        return Remark(
            "stop",
            f"the sprays from below lift the cans of {lanes}",
            "lower the pressure below the mat, or raise it above",
        )
    if setup.tipping.balance_angle_rad <= 0.0:
        return Remark(
            "stop",
            "the sprays alone carry a can past its balance point in the worst lane",
            "bring the nozzles over the can centres or lower the pressure",
        )
    share = setup.tipping.balance_angle_rad / setup.tipping.rest_angle_rad
    if share < 0.5:
        return Remark(
            "watch",
            "at their worst moment the sprays take more than half of the balance angle",
            "see the misalignment of the nozzles and the balance of pressure above and below",
        )
    return None


def tipping(scenario: Scenario, setup: Setup) -> Remark | None:
    """Slack that lets a can past its balance point, or near it."""
    found = setup.tipping
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
    do = _set_guides(setup, lengths)
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


def window(_: Scenario, setup: Setup) -> Remark | None:
    """Window empty, or the setting outside it while nothing else said so."""
    if setup.tipping.balance_angle_rad <= 0.0 or not setup.pack.fits:
        return None
    found, budget = setup.window, setup.budget
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
        return Remark("change", what, _attack(setup, lengths), lengths)
    place = found.verdict(setup.pack.clear_width_mm)
    if place == "too tight" and not _squeezed(setup):
        lengths = {"short": found.low_mm - setup.pack.clear_width_mm}
        return Remark(
            "change",
            "tight: in the worst case the pack is {short} wider than the guides",
            _set_guides(setup, lengths),
            lengths,
        )
    if place == "too loose" and setup.tipping.verdict == "held":
        lengths = {"loosest": setup.tipping.loosest_slack_mm, "lane": found.allowed_mm}
        return Remark(
            "change",
            "wide: slack can reach {loosest}, and {lane} is room for a lane more: the pack may "
            "nest anew",
            _set_guides(setup, lengths),
            lengths,
        )
    step = {"step": budget.setting_step_mm}
    return Remark("watch", _with_step(found.finding, budget), "", step) if found.finding else None


def wires(_: Scenario, setup: Setup) -> Remark | None:
    """No wire supports an edge can."""
    if setup.tipping.safe.governing_wire_mm is None:
        return Remark(
            "stop",
            "every guide wire is above the can tops: nothing supports an edge can",
            "add or lower a wire to below {top}",
            {"top": setup.stance.height_mm},
        )
    return None


def nozzles(_: Scenario, setup: Setup) -> Remark | None:
    """Nozzles miss the can centres, and a shift would or would not help."""
    found = setup.alignment
    if found is None:
        return None
    gain = found.now.worst_mm - found.best.worst_mm
    far = found.best.worst_mm > MISSES_CAN * setup.pack.diameter_mm
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


def room_for_a_can(_: Scenario, setup: Setup) -> Remark | None:
    """Voids that take a whole can."""
    if not setup.pack.fits or not bool(setup.voids.holds_a_can.any()):
        return None
    return Remark(
        "watch",
        "the pack leaves voids in which a whole can could stand ({circle} across)",
        "check the lane count for this width",
        {"circle": float(setup.voids.largest_circle_mm)},
    )


def all_well(scenario: Scenario, setup: Setup) -> Remark | None:
    """Nothing else had anything to say."""
    others = [rule for rule in RULES if rule is not all_well]
    if any(rule(scenario, setup) for rule in others):
        return None
    index = setup.tipping.loosest.worst
    worst = f"tip index {index:.2f}" if math.isfinite(index) else "unheld"
    return Remark("note", f"held, inside the guide window; {worst} at worst")


RULES: Final[tuple[Rule, ...]] = (
    pack_fits,
    wires,
    hold_down_height,
    header_height,
    sprays_alone,
    tipping,
    window,
    nozzles,
    room_for_a_can,
    all_well,
)
"""Every rule, in the order an engineer would ask."""


def _squeezed(setup: Setup) -> bool:
    """Whether the lanes there are need more width than they have.

    A crosswise pack is called strained too when it spreads out over a slack it does have.
    """
    return setup.pack.state == "strained" and setup.budget.residual_mm < 0.0


def _with_step(finding: str, budget: SlackBudget) -> str:
    """Return a window's finding with its setting step left open, to be shown in any unit."""
    return finding.replace(f"{budget.setting_step_mm:g} mm", "{step}")


def _set_guides(setup: Setup, lengths: dict[str, float]) -> str:
    if setup.window.target_mm is None:
        lengths["stopgap"] = setup.window.low_mm
        return "until the window opens, set the guides to {stopgap}, as close as the pack allows"
    move = setup.window.target_mm - setup.pack.clear_width_mm
    lengths["target"] = setup.window.target_mm
    lengths["move"] = abs(move)
    verb = "open" if move > 0.0 else "close"
    return f"{verb} the guides by {{move}}, to {{target}}"


def _attack(setup: Setup, lengths: dict[str, float]) -> str:
    """Say what to reduce, in order, and what is still missing after all of it."""
    window, budget = setup.window, setup.budget
    parts = []
    for i, attack in enumerate(window.attack):
        lengths[f"take{i}"] = attack.take_mm
        parts.append(f"take {{take{i}}} off the {attack.term} ({budget.term(attack.term).remedy})")
    missing = -window.width_mm - math.fsum(attack.take_mm for attack in window.attack)
    if missing > 1e-6:
        lengths["missing"] = missing
        parts.append("{missing} stay missing: raise the safe slack or run cans of closer diameter")
    return "; ".join(parts)
