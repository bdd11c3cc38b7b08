"""What to know before a size change is made: what is wrong, by how much, what to do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from packsim.answers import clear_headers
from packsim.line import Scenario
from packsim.size_change.alert import LEVELS, Alert, alert
from packsim.size_change.line_alerts import line_alerts
from packsim.size_change.reach import Reach
from packsim.size_change.size_change import SizeChange, StageChange
from packsim.size_change.window_alerts import window_alerts

__all__ = ["MISSES_CAN", "STAGE_RULES", "WORTH_A_LOOK_MM", "find_alerts"]

MISSES_CAN: Final = 0.25
"""Share of a diameter: a nozzle farther than this from the can centre aims nearer the wall than
the middle (plain geometry; half way from centre to wall)."""

WORTH_A_LOOK_MM: Final = 10.0
"""A change of the nozzles' distance from the can tops worth a look at the coverage (assumed: a
tenth of a usual distance)."""


def find_alerts(scenario: Scenario, change: SizeChange) -> tuple[Alert, ...]:
    """Return everything to know, most urgent first; what several stages share is said once.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    change : SizeChange
        The planned change.

    Returns
    -------
    tuple of Alert
        Sorted by level, then in the order of the rules.
    """
    found = line_alerts(scenario, change)
    for rule in STAGE_RULES:
        for i, part in enumerate(change.stages):
            found += rule(scenario, i, part)
    return tuple(sorted(_grouped(found), key=lambda one: LEVELS.index(one.level)))


def _grouped(alerts: Sequence[Alert]) -> list[Alert]:
    """Join alerts of one wording; their lengths become ranges over the stages."""
    groups: dict[tuple[str, str, str], list[Alert]] = {}
    for one in alerts:
        groups.setdefault((one.level, one.what_text, one.do_text), []).append(one)
    joined = []
    for (level, what, do), members in groups.items():
        names = dict.fromkeys(name for one in members for name, _ in one.lengths_mm)
        spans = []
        for name in names:
            ends = [
                end
                for one in members
                for key, span in one.lengths_mm
                if key == name
                for end in span
            ]
            spans.append((name, (min(ends), max(ends))))
        stages = tuple(dict.fromkeys(stage for one in members for stage in one.stages))
        joined.append(Alert(level, stages, what, do, tuple(spans)))
    return joined


def _fits(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    if change.after.pack.fits:
        return []
    pack = change.after.pack
    if pack.clear_width_mm >= pack.diameter_mm:
        return [alert("stop", change.stage, f"no can fits: {pack.reason}")]
    what = "no can fits: one can needs {need}, the guides stand {width} apart"
    lengths = {"need": pack.diameter_mm, "width": pack.clear_width_mm}
    return [alert("stop", change.stage, what, "", lengths)]


def _reach(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    guides, mat = scenario.stages[i].guides, scenario.mat.width_mm
    reach = Reach.of(guides, mat)
    beyond = max(reach.beyond_mm(move.new_mm) for move in change.moves)
    off = max(-min(move.new_mm for move in change.moves), 0.0)
    if off > 0.0:
        what = "a guide would stand {off} off the mat"
        return [alert("stop", change.stage, what, "do not run it so", {"off": off})]
    if beyond > 1e-6:
        what = "a bracket would have to go {beyond} beyond its travel"
        return [alert("stop", change.stage, what, "", {"beyond": beyond})]
    if change.source != "reach":
        return []
    low, high = reach.widths_mm
    width, window = change.after.pack.clear_width_mm, change.after.window
    if window.verdict(width) == "inside":
        return []
    end = "the travel of the brackets ends" if guides.travel_mm else "the mat ends"
    narrow = width < window.low_mm
    what = f"{end} at {{width}} wall to wall; the new size needs "
    what += "{low} or more" if narrow else "{high} or less"
    lengths = {"width": high if narrow else low, "low": window.low_mm, "high": window.high_mm}
    return [alert("stop", change.stage, what, "move the bracket bases first", lengths)]


def _tipping(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    found, spray = change.after.tipping, change.after.spray
    if spray is not None and bool(spray.lifted.any()):
        what, do = "the sprays from below lift cans", "lower the pressure below the mat"
        return [alert("stop", change.stage, what, do)]
    if found.balance_angle_rad <= 0.0:
        what = "the sprays alone carry a can past its balance point in the worst lane"
        do = "lower the pressure, or bring the nozzles over the can centres"
        return [alert("stop", change.stage, what, do)]
    if found.verdict != "can tip":
        return []
    what = "cans can tip with the new setting: slack can reach {loosest}, safe is below {safe}"
    lengths = {"loosest": found.loosest_slack_mm, "safe": found.safe.slack_mm}
    do = "lower the spray pressure or shorten the spans before the run; watch the first cans"
    return [alert("change", change.stage, what, do, lengths)]


def _nozzles(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    found = change.after.alignment
    if found is None or found.now.worst_mm <= MISSES_CAN * change.after.pack.diameter_mm:
        return []
    what = "with the new setting a lane rides {left} off its nearest nozzle"
    do = "no shift mends that: the nozzle pitch does not suit this size"
    if found.best.limited_by_room and found.now.worst_mm - found.best.worst_mm < 1.0:
        do = "the travel of the brackets or the mat's edge allows no more"
    return [alert("watch", change.stage, what, do, {"left": found.now.worst_mm})]


def _headers(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    stage, top = scenario.stages[i], change.after.stance.height_mm
    lowest = min((h.mat_distance_mm for h in stage.headers if h.side == "above"), default=None)
    if lowest is None:
        return []
    if len(clear_headers(stage, top)) == len(stage.headers):
        was = change.before.stance.height_mm
        if abs(top - was) < WORTH_A_LOOK_MM:
            return []
        words = "nearer to" if top > was else "farther from"
        what = f"the can tops come {{by}} {words} the nozzles above"
        lengths = {"by": abs(top - was)}
        return [alert("note", change.stage, what, "check what the sprays cover", lengths)]
    what = "a header above hangs {below} below the can tops"
    return [alert("stop", change.stage, what, "raise it", {"below": top - lowest})]


def _wires(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    found, part = [], change.wires
    for move in part.moves:
        if move.idle:
            what = "the wire at {z} serves neither size"
            do = "it does no harm; leave it or take it off"
            if move.new_mm >= change.after.stance.height_mm:
                what, do = "the wire at {z} is above the can tops and serves neither size", ""
            found.append(alert("watch", change.stage, what, do, {"z": move.new_mm}))
        if move.now_mm is None:
            what = (
                "one wire more is called for on each side, at {z}: the present ones cannot serve "
            )
            what += "both sizes"
            do = "string it, or know that the guide window here counts on it"
            found.append(alert("change", change.stage, what, do, {"z": move.new_mm}))
    found += [alert("watch", change.stage, f"not served: {words}") for words in part.unserved]
    if change.after.tipping.safe.governing_wire_mm is None:
        what = "every guide wire is above the can tops: nothing supports an edge can"
        found.append(alert("stop", change.stage, what, "lower a wire"))
    return found


def _hold_down(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    move, found = change.hold_down, change.after.hold_down
    if move is None or found is None:
        return []
    lengths = {"clearance": found.clearance_mm, "limit": found.limit_mm, "h": move.new_mm}
    if found.state == "crushes":
        what = "the hold-down at {h} would hang below the can tops"
        return [alert("stop", change.stage, what, "raise it", lengths)]
    if not found.blocks:
        what = "the hold-down, {clearance} over the tops, does not keep cans from tipping"
        return [alert("change", change.stage, what, "lower it to less than {limit}", lengths)]
    if move.why.startswith("half"):
        what = "the present clearance does not suit the new size: it becomes {clearance}"
        return [alert("note", change.stage, what, "", lengths)]
    return []


def _settled(scenario: Scenario, i: int, change: StageChange) -> list[Alert]:
    if change.settled:
        return []
    what = "width and shift did not settle on one setting; this is the last one tried"
    return [alert("watch", change.stage, what, "check it with a study before the run")]


_Rule = Callable[[Scenario, int, StageChange], list[Alert]]

STAGE_RULES: Final[tuple[_Rule, ...]] = (
    _fits,
    _reach,
    window_alerts,
    _tipping,
    _headers,
    _hold_down,
    _wires,
    _nozzles,
    _settled,
)
"""Every rule about one stage, in the order a crew would ask."""
