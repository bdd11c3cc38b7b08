"""What to know before a size change is made: rules about one stage, and about the line."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from packsim.findings import WHY, Finding, tell, window_rules
from packsim.findings import machine_rules as machine
from packsim.findings import pack_rules as pack
from packsim.findings.finding import DESIGN
from packsim.findings.unsettled import cans_first
from packsim.line import Scenario
from packsim.line.guides import Reach
from packsim.nozzles.lane_lines import MISSES_CAN, lane_shares
from packsim.setting.moves import HALF
from packsim.size_change.size_change import StageChange
from packsim.spray.uniformity import LOW_SHARE, coverage, uniformity

WORTH_A_LOOK_MM: Final = 10.0
"""A change of the nozzles' distance from the can tops worth a word (assumed: a tenth of a usual
distance)."""

_Found = Iterator[Finding | None]


def _as_studied(scenario: Scenario, change: StageChange) -> _Found:
    """Rules of a study to which the sheet has nothing to add."""
    yield pack.fits(scenario, change.after)
    yield machine.wires(scenario, change.after)
    yield machine.hold_down_crushes(scenario, change.after)
    yield machine.hold_down_height(scenario, change.after)
    yield machine.header_height(scenario, change.after)
    yield machine.sprays_alone(scenario, change.after)


def _reach(scenario: Scenario, change: StageChange) -> _Found:
    guides = change.found.guides
    reach = Reach.of(guides, scenario.mat.width_mm)
    off = max(-min(move.new_mm for move in change.moves), 0.0)
    beyond = reach.farthest_beyond_mm(replace(guides, brackets=change.setting.brackets))
    width, window = change.after.pack.clear_width_mm, change.after.window
    if off > 0.0:
        what = "a guide would stand {off_mm} off the mat"
        do = "do not run with this setting; correct it in the scenario"
        yield tell(change.after, "stop", what, do, off_mm=off)
    elif beyond > 1e-6:
        what = "a bracket would have to go {beyond_mm} beyond its travel"
        do = "move the bracket bases first"
        yield tell(change.after, "stop", what, do, beyond_mm=beyond)
    elif change.setting.source == "reach" and window.verdict(width) != "inside":
        end = "the travel of the brackets ends" if guides.travel_mm else "the mat ends"
        narrow = width < window.low_mm
        yield tell(
            change.after,
            "stop",
            f"{end} at a clear width of {{width_mm}}; the new size needs "
            + ("{need_mm} or more" if narrow else "{need_mm} or less"),
            "move the bracket bases first",
            width_mm=reach.widths_mm[1 if narrow else 0],
            need_mm=window.low_mm if narrow else window.high_mm,
        )


def _window(scenario: Scenario, change: StageChange) -> _Found:
    """Empty window, a setting outside it, or a narrow one."""
    answer, window, width = change.after, change.after.window, change.after.pack.clear_width_mm
    verdict = window.verdict(width)
    lengths = {"width_mm": width, "low_mm": window.low_mm, "high_mm": window.high_mm}
    if answer.worst.balance_rad <= 0.0:
        return  # the sprays alone turn cans over: said by its own rule
    if window.empty:
        cures = window_rules.no_window_for(answer, *window_rules.cures(window))
        said = cans_first(scenario, answer, cures)
        if change.setting.source == "low end":
            tail = "; {width_mm} is set, the lowest at which the pack does not jam"
            values = ({**said.values[0], **lengths},)
            said = replace(said, what_text=said.what_text + tail, values=values)
        yield said
    elif change.setting.source == "window" and window.width_mm < answer.budget.setting_step_mm:
        yield window_rules.narrow(answer, answer.window, width, gauge=change.setting.gauge)
    elif change.setting.gauge:
        yield tell(
            answer,
            "watch",
            "no setting of both brackets on whole steps hits the guide window, {low_mm} to "
            "{high_mm}",
            "set it to {width_mm} with a gauge",
            **lengths,
        )
    elif verdict != "inside" and change.setting.source == "record":
        yield tell(
            answer,
            "change",
            f"the setting on record, {{width_mm}}, is {verdict} for the guide window, {{low_mm}} "
            "to {high_mm}",
            "delete it from the scenario and ask again",
            **lengths,
        )


def _tipping(scenario: Scenario, change: StageChange) -> _Found:
    said = pack.tipping(scenario, change.after)
    if said is not None:
        do = "lower the spray pressure or shorten the spans before the run; watch the first cans"
        yield replace(said, do_text=do)


def _tops(scenario: Scenario, change: StageChange) -> _Found:
    """Can tops at another distance from the nozzles above, and what the sprays then cover."""
    stage, top = change.found, change.after.stance.height_mm
    by = top - change.before.stance.height_mm
    above = [h for h in change.after.headers if h.side == "above"]
    if not above or len(change.after.headers) < len(stage.headers):
        return
    overlap = min(coverage(header, top).overlap_mm for header in above)
    words = "nearer to" if by > 0.0 else "farther from"
    if overlap < 0.0:
        what = "the sprays above leave dry stripes {stripe_mm} wide between them on the can tops"
        do = "raise the headers, or drill them anew"
        yield tell(change.after, "watch", what, do, DESIGN, stripe_mm=-overlap)
    elif abs(by) >= WORTH_A_LOOK_MM:
        what = f"the can tops come {{by_mm}} {words} the nozzles above; their sprays still overlap"
        yield tell(
            change.after, "note", what + " by {overlap_mm}", by_mm=abs(by), overlap_mm=overlap
        )


def _washed(scenario: Scenario, change: StageChange) -> _Found:
    """Lanes of the new size that get much less than the others."""
    after, before = change.after, change.before
    for place, lanes in after.doses.items():
        even = uniformity(lanes, lane_shares(after.pack))
        if not even.under:
            continue
        where = "on top" if place == "top" else place
        low = f"{100.0 * LOW_SHARE:.0f} % of the mean dose"
        what = f"{{few}} of {{lanes}} lanes get less than {low} {where}"
        values: dict[str, float | str] = {
            "few": str(len(even.under)),
            "lanes": str(len(lanes)),
            "least_share": even.least_share,
        }
        tail = ": the least gets {least_share}"
        if place in before.doses:
            tail += ", before the change {was_share}"
            was = uniformity(before.doses[place], lane_shares(before.pack))
            values["was_share"] = was.least_share
        do = "add nozzles beyond the edge lanes, or drill for both sizes"
        yield tell(after, "watch", what + tail, do, DESIGN, **values)


def _wires(scenario: Scenario, change: StageChange) -> _Found:
    answer = change.after
    for move in change.setting.wires.moves:
        if move.idle and move.new_mm >= answer.stance.height_mm:
            what = "the wire at {z_mm} is above the can tops and serves neither size"
            yield tell(answer, "watch", what, "take it off or lower it", z_mm=move.new_mm)
        elif move.idle:
            what = "the wire at {z_mm} serves neither size"
            yield tell(answer, "watch", what, machine.NO_HARM, z_mm=move.new_mm)
        if move.now_mm is None:
            what = (
                "one wire more is needed on each side, at {z_mm}: the present ones cannot serve "
                "both sizes"
            )
            do = "string it; without it the guide window here does not hold"
            yield tell(answer, "change", what, do, z_mm=move.new_mm)
    do = "see which heights would serve it"
    for words in change.setting.wires.unserved:
        yield tell(answer, "watch", "not served: {duty}", do, WHY, duty=words)


def _hold_down(scenario: Scenario, change: StageChange) -> _Found:
    move, found = change.setting.hold_down, change.after.hold_down
    if move is not None and found is not None and found.blocks and move.why == HALF:
        what = "the present clearance of the hold-down does not suit the new size"
        do = "set it to {clearance_mm} over the can tops, as this sheet says"
        yield tell(change.after, "note", what, do, clearance_mm=found.clearance_mm)


def _nozzles(scenario: Scenario, change: StageChange) -> _Found:
    found = change.after.alignment
    if found is not None and found.now.worst_mm > MISSES_CAN * change.after.pack.diameter_mm:
        yield machine.nozzles(scenario, change.after)


STAGE_RULES: Final[tuple[Callable[[Scenario, StageChange], _Found], ...]] = (
    _as_studied,
    _reach,
    _window,
    _tipping,
    _tops,
    _washed,
    _hold_down,
    _wires,
    _nozzles,
)
"""Every rule about one stage, in the order a crew would ask."""
