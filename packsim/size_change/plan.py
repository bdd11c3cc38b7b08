"""Plan a size change: settings of every stage, mat speed, and what to know before it is done."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from packsim.answers import Answer, answer_line
from packsim.errors import Assumption
from packsim.line import Scenario
from packsim.nozzles.lane_lines import MISSES_CAN, WORTH_A_SHIFT_MM, WORTH_A_SHIFT_SHARE
from packsim.setting import LineSetting, alternatives, recommend
from packsim.setting.choose import IN_LINE_MM
from packsim.setting.moves import bracket_moves
from packsim.size_change.change_rules import WORTH_A_LOOK_MM, find_alerts
from packsim.size_change.line_rules import STEP_AT_JOINT_MM
from packsim.size_change.size_change import Alternative, SizeChange, StageChange
from packsim.width.wire_heights import Margins


def plan_change(
    scenario: Scenario,
    from_size: str,
    to_size: str,
    keep: str = "rate",
    step_mm: float | None = None,
    *,
    lanes: int | None = None,
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
    lanes : int, optional
        Lanes wanted in every stage; chosen when omitted.
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
    The new setting is the one `packsim.setting.recommend` gives; this is the way there.
    """
    chosen = margins if margins is not None else Margins()
    from_size = scenario.size(from_size, "from").name
    setting = recommend(
        scenario,
        to_size,
        lanes=lanes,
        keep=keep,
        step_mm=step_mm,
        from_size=from_size,
        margins=chosen,
    )
    if progress is not None:
        progress(1, 2)
    stages = _stages(setting, answer_line(scenario, from_size))
    if progress is not None:
        progress(2, 2)
    change = SizeChange(
        scenario=scenario.name,
        from_size=from_size,
        to_size=setting.size,
        keep=keep,
        step_mm=setting.step_mm,
        mat_width_mm=scenario.mat.width_mm,
        stages=stages,
        lanes_because=setting.reason,
        alternatives=tuple(Alternative.of(other) for other in alternatives(setting)),
        speed_mm_per_s=setting.speed_mm_per_s,
        cans_per_min=setting.cans_per_min,
        alerts=(),
        assumed=_assumed(stages, chosen),
    )
    return replace(change, alerts=find_alerts(scenario, change))


def _stages(setting: LineSetting, before: Sequence[Answer]) -> tuple[StageChange, ...]:
    """Return the moves to the line as it shall stand, and its answers there."""
    changes = []
    mat_mm = setting.scenario.mat.width_mm
    rows = zip(setting.scenario.stages, setting.stages, before, setting.answers, strict=True)
    for found, part, old, new in rows:
        changes.append(
            StageChange(
                stage=found.name,
                moves=bracket_moves(found.name, found.guides.brackets, part.brackets, mat_mm),
                brackets=part.brackets,
                source=part.source,
                gauge=part.gauge,
                wires=part.wires,
                hold_down=part.hold_down,
                shift_mm=part.shift_mm,
                before=old,
                after=new,
                kicks_from=found.kicks.trial,
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
            "a smaller gain is not worth a shift: a jet that near to the middle is as good",
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
