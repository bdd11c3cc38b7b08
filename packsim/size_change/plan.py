"""Plan a size change: settings of every stage, mat speed, and what to know before it is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from packsim.answers import Answer, answer_line, answer_stage
from packsim.assumption import Assumption
from packsim.check import one_of, positive
from packsim.flow.throughput import KEEP, CansFlow, flow_after_size_change
from packsim.line import Scenario
from packsim.nozzles.lane_lines import MISSES_CAN, WORTH_A_SHIFT_MM
from packsim.size_change.change_rules import WORTH_A_LOOK_MM, find_alerts
from packsim.size_change.heights import wires_for
from packsim.size_change.line_rules import STEP_AT_JOINT_MM
from packsim.size_change.moves import bracket_moves
from packsim.size_change.runs import IN_LINE_MM, runs_in_line
from packsim.size_change.search import WORTH_A_SHIFT_SHARE, Draft, Search
from packsim.size_change.size_change import SizeChange, StageChange
from packsim.width.wire_heights import Margins


def plan_change(
    scenario: Scenario,
    from_size: str,
    to_size: str,
    keep: str = "rate",
    step_mm: float | None = None,
    *,
    margins: Margins | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> SizeChange:
    """Plan the change of a line from one can size to another.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    from_size, to_size : str
        Size that leaves and size that comes, by name; the same one sets the line right for it.
    keep : {"rate", "dwell"}
        Keep the cans per minute, or the mat speed and every dwell.
    step_mm : float, optional
        Step new settings are whole multiples of; each stage's own setting step when omitted [mm].
    margins : Margins, optional
        Distances that wires keep; the assumed ones when omitted.
    progress : callable, optional
        Called with (done, of) while it works.

    Returns
    -------
    SizeChange
        Moves of every bracket, wire and hold-down, speed, and what to know.

    Raises
    ------
    InputError
        If a size is unknown or ``keep`` is neither word.

    Notes
    -----
    A setting on record for the new size is taken as it is, and still judged. Otherwise stages in
    line (`runs_in_line`) get one lane count (`line_lanes`) and one shift (`line_shift`, for the
    worst can line). Where the shift gains less than `WORTH_A_SHIFT_MM` the middles stay, and a
    stage whose present brackets lie inside the new guide window stays as it is; where all of them
    do, it takes a gain of `WORTH_A_SHIFT_SHARE` to touch them. Else all its brackets are set
    alike, to the middle of the window on whole steps from the mat edges. An empty window gives its
    low end, on the next step up: a pack with slack runs and can be watched, one that jams cannot.
    """
    one_of("keep", keep, KEEP)
    if step_mm is not None:
        positive("step_mm", step_mm)
    old, new = scenario.size(from_size), scenario.size(to_size)
    chosen = margins if margins is not None else Margins()
    before = answer_line(scenario, from_size)
    wires = wires_for(scenario, from_size, to_size, chosen, step_mm)
    search = Search(scenario, from_size, to_size, step_mm, wires)
    drafts: dict[int, Draft] = {}
    for run in runs_in_line(scenario, from_size):
        drafts |= search.run(run)
        if progress is not None:
            progress(len(drafts), len(scenario.stages))
    ordered = [drafts[i] for i in range(len(drafts))]
    flow = CansFlow(_carried(before), scenario.mat.speed_mm_per_s)
    later = _flow_after(flow, _carried([draft.answer for draft in ordered]), keep)
    stages = _stages(scenario, search, ordered, before, later.speed_mm_per_s)
    change = SizeChange(
        scenario=scenario.name,
        from_size=old.name,
        to_size=new.name,
        keep=keep,
        step_mm=step_mm,
        mat_width_mm=scenario.mat.width_mm,
        stages=stages,
        speed_mm_per_s=(flow.speed_mm_per_s, later.speed_mm_per_s),
        cans_per_min=(flow.cans_per_min, later.cans_per_min),
        alerts=(),
        assumed=_assumed(stages, chosen),
    )
    return replace(change, alerts=find_alerts(scenario, change))


def _carried(answers: Sequence[Answer]) -> float:
    """Cans per metre of the stage that carries fewest: it sets the rate [1/m]."""
    return min(answer.flow.cans_per_m for answer in answers)


def _flow_after(before: CansFlow, cans_per_m: float, keep: str) -> CansFlow:
    """Flow of the new size; where either pack does not fit there is no rate to keep."""
    if keep == "rate" and min(before.cans_per_m, cans_per_m) <= 0.0:
        return before.keeping_dwell(cans_per_m)
    return flow_after_size_change(before, cans_per_m, keep)


def _stages(
    scenario: Scenario,
    search: Search,
    drafts: Sequence[Draft],
    before: Sequence[Answer],
    speed_mm_per_s: float,
) -> tuple[StageChange, ...]:
    """Answer the line as it shall stand, at its new speed."""
    line = replace(
        scenario,
        mat=replace(scenario.mat, speed_mm_per_s=speed_mm_per_s),
        stages=tuple(draft.stage for draft in drafts),
    )
    changes = []
    for i, draft in enumerate(drafts):
        stage, new = scenario.stages[i], draft.stage.guides
        changes.append(
            StageChange(
                stage=stage.name,
                moves=bracket_moves(
                    stage.name, stage.guides.brackets, new.brackets, scenario.mat.width_mm
                ),
                brackets=new.brackets,
                source=draft.source,
                wires=search.wires[i],
                hold_down=draft.hold_down,
                shift_mm=new.centre_mm - stage.guides.centre_mm,
                before=before[i],
                after=answer_stage(line, stage.name, search.to_size),
                settled=draft.settled,
                kicks_from=stage.kicks.trial,
            )
        )
    return tuple(changes)


def _assumed(stages: Sequence[StageChange], margins: Margins) -> tuple[Assumption, ...]:
    own = [
        Assumption(
            "change.in_line", f"{IN_LINE_MM:g} mm", "stages this near to one line are set in line"
        ),
        Assumption(
            "change.worth_a_shift",
            f"{WORTH_A_SHIFT_MM:g} mm",
            "a smaller gain at the nozzles is lost in the setting of the brackets",
        ),
        Assumption(
            "change.worth_a_shift_share",
            f"{WORTH_A_SHIFT_SHARE:g} of a diameter",
            "where every bracket could stay, a smaller gain is not worth touching them",
        ),
        Assumption(
            "change.step_at_joint",
            f"{STEP_AT_JOINT_MM:g} mm",
            "a guide this much farther in than the one before is warned of; less is lost in the "
            "bow of the wires",
        ),
        Assumption(
            "change.worth_a_look",
            f"{WORTH_A_LOOK_MM:g} mm",
            "can tops this much nearer to the nozzles, or farther from them, are told: a tenth of "
            "a usual distance",
        ),
        Assumption(
            "change.misses_can",
            f"{MISSES_CAN:g} of a diameter",
            "a nozzle farther off is warned of: it aims nearer the wall of the can than its middle",
        ),
    ]
    if any(stage.hold_down is not None for stage in stages):
        why = "common practice, no source; the clearance is kept where cans cannot tip under it"
        own.append(Assumption("change.hold_down_clearance", "as it is now", why))
    line = [a for stage in stages for a in (*stage.before.assumed, *stage.after.assumed)]
    return tuple(dict.fromkeys((*margins.assumed, *own, *line)))
