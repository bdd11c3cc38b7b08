"""Plan a size change: settings of every stage, mat speed, and what to know before it is done."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from packsim.answers import Answer, answer_line
from packsim.errors import Assumption, InputError
from packsim.findings import Finding, joined
from packsim.line import KnownSetting, Scenario, Stage
from packsim.nozzles.lane_lines import MISSES_CAN, WORTH_A_SHIFT_MM, WORTH_A_SHIFT_SHARE
from packsim.setting import LineSetting, alternatives, recommend
from packsim.setting.choose import IN_LINE_MM
from packsim.size_change.change_rules import (
    STAGE_RULES,
    STEP_AT_JOINT_MM,
    WORTH_A_LOOK_MM,
    line_rules,
)
from packsim.size_change.size_change import Alternative, SizeChange, StageChange, bracket_moves
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


def apply_change(scenario: Scenario, change: SizeChange) -> Scenario:
    """Return the line as it stands after a change.

    Parameters
    ----------
    scenario : Scenario
        The line the change was planned for.
    change : SizeChange
        The change.

    Returns
    -------
    Scenario
        Guides, wires, hold-downs and speed set, ``set_for`` the new size. Each stage has what it
        was set to on record for the size it was set for, so that the way back leads to the very
        same brackets. Wire heights go on record only where the new ones do not serve that size.

    Raises
    ------
    InputError
        If the change was planned for another line.
    """
    stations = [[b.station_mm for b in stage.guides.brackets] for stage in scenario.stages]
    planned = [[b.station_mm for b in stage.brackets] for stage in change.stages]
    names = [stage.name for stage in scenario.stages]
    if planned != stations or names != [stage.stage for stage in change.stages]:
        raise InputError("change", f"one for {change.scenario}", f"one for {scenario.name}")
    pairs = zip(scenario.stages, change.stages, strict=True)
    moved = tuple(_stage(stage, part, scenario.set_for, change.to_size) for stage, part in pairs)
    moves = [i for i, part in enumerate(change.stages) if part.shift_mm]
    centres = {f"stages[{i}].pack_centre_from_left" for i in moves}
    return replace(
        scenario,
        mat=replace(scenario.mat, speed_mm_per_s=change.speed_mm_per_s[1]),
        stages=moved,
        set_for=change.to_size,
        assumed=tuple(entry for entry in scenario.assumed if entry.key not in centres),
    )


def _stage(stage: Stage, part: StageChange, was_for: str, to_size: str) -> Stage:
    wires = stage.guides.wires
    if part.wires.heights_mm:
        wires = replace(wires, heights_mm=part.wires.heights_mm)
    guides = replace(stage.guides, brackets=part.brackets, wires=wires)
    hold_down = stage.hold_down_mm if part.hold_down is None else part.hold_down.new_mm
    settings = stage.settings
    if was_for != to_size:
        left = KnownSetting(
            was_for,
            stage.guides.brackets,
            None if part.wires.keeps_old else stage.guides.wires.heights_mm,
            stage.hold_down_mm,
        )
        settings = (*(s for s in settings if s.size != was_for), left)
    return replace(stage, guides=guides, hold_down_mm=hold_down, settings=settings)


def find_alerts(scenario: Scenario, change: SizeChange) -> tuple[Finding, ...]:
    """Return everything to know, most urgent first; what several stages share is said once.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    change : SizeChange
        The planned change.

    Returns
    -------
    tuple of Finding
        Sorted by level, then in the order of the rules.
    """
    found = list(line_rules(scenario, change))
    for rule in STAGE_RULES:
        for part in change.stages:
            found += [one for one in rule(scenario, part) if one is not None]
    return joined(found)
