"""Plan a size change: settings of every stage, mat speed, and what to know before it is done."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from packsim.answers import Answer, answer_line
from packsim.errors import Assumption
from packsim.findings import Finding, joined, tell
from packsim.line import Scenario, Stage
from packsim.nozzles.lane_lines import MISSES_CAN, WORTH_A_SHIFT_MM, WORTH_A_SHIFT_SHARE
from packsim.setting import LineSetting, StageSetting, alternatives, recommend
from packsim.setting.choose import IN_LINE_MM
from packsim.setting.moves import BracketMove
from packsim.size_change.change_rules import STAGE_RULES, WORTH_A_LOOK_MM
from packsim.size_change.size_change import Alternative, SizeChange, StageChange
from packsim.width.wire_heights import Margins

STEP_AT_JOINT_MM: Final = 3.0
"""A guide that stands this much farther in than the one before makes a corner cans run against
(assumed; a few millimetres are lost in the bow of the wires)."""


def plan_change(
    scenario: Scenario,
    from_size: str,
    to_size: str,
    keep: str = "rate",
    step_mm: float | None = None,
    *,
    lanes: int | None = None,
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
    from_size = scenario.size(from_size, "from").name
    setting = recommend(
        scenario, to_size, lanes=lanes, keep=keep, step_mm=step_mm, from_size=from_size
    )
    if progress is not None:
        progress(1, 2)
    stages = _stages(setting, answer_line(scenario, from_size))
    if progress is not None:
        progress(2, 2)
    others = tuple(_alternative(other) for other in alternatives(setting))
    change = SizeChange(setting, stages, others, (), _assumed(stages))
    return replace(change, alerts=_alerts(scenario, change))


def _stages(setting: LineSetting, before: Sequence[Answer]) -> tuple[StageChange, ...]:
    """Return the moves to the line as it shall stand, and its answers there."""
    mat_mm = setting.scenario.mat.width_mm
    rows = zip(setting.scenario.stages, setting.stages, before, setting.answers, strict=True)
    return tuple(
        StageChange(found, part, tuple(_moves(found, part, mat_mm)), old, new)
        for found, part, old, new in rows
    )


def _moves(found: Stage, part: StageSetting, mat_mm: float) -> Iterator[BracketMove]:
    """Yield the move of every bracket, left and right at each station."""
    for now, new in zip(found.guides.brackets, part.brackets, strict=True):
        for side, *ends in (
            ("left", now.left_mm, new.left_mm),
            ("right", mat_mm - now.right_mm, mat_mm - new.right_mm),
        ):
            yield BracketMove(found.name, now.station_mm, side, *ends)


def _alternative(setting: LineSetting) -> Alternative:
    return Alternative(
        lanes=setting.lanes,
        safe=setting.safe,
        tip_index=setting.index,
        nozzle_offset_mm=setting.offset_mm,
        cans_per_min=setting.cans_per_min[1],
        speed_mm_per_s=setting.speed_mm_per_s[1],
        move_mm=setting.move_mm,
    )


def _assumed(stages: Sequence[StageChange]) -> tuple[Assumption, ...]:
    own = [Assumption(f"change.{key}", value, why) for key, (value, why) in _RULES.items()]
    if any(part.setting.hold_down is not None for part in stages):
        why = "common practice, no source; the clearance is kept where cans cannot tip under it"
        own.append(Assumption("change.hold_down_clearance", "as it is now", why))
    line = [a for part in stages for a in (*part.before.assumed, *part.after.assumed)]
    return tuple(dict.fromkeys((*Margins().assumed, *own, *line)))


_RULES: Final = {
    "in_line": (f"{IN_LINE_MM:g} mm", "stages this near to one line are set in line"),
    "worth_a_shift": (
        f"{WORTH_A_SHIFT_MM:g} mm",
        "a smaller gain at the nozzles is lost in the setting of the brackets",
    ),
    "worth_a_shift_share": (
        f"{WORTH_A_SHIFT_SHARE:g} of a diameter",
        "a smaller gain is not worth a shift: a jet that near to the middle is as good",
    ),
    "step_at_joint": (
        f"{STEP_AT_JOINT_MM:g} mm",
        "a guide this much farther in than the one before is warned of; less is lost in the bow of "
        "the wires",
    ),
    "worth_a_look": (
        f"{WORTH_A_LOOK_MM:g} mm",
        "can tops this much nearer to the nozzles, or farther from them, are told: a tenth of a "
        "usual distance",
    ),
    "misses_can": (
        f"{MISSES_CAN:g} of a diameter",
        "a nozzle farther off is warned of: it aims nearer the wall of the can than its middle",
    ),
}
"""What a change assumes of its own, and why."""


def _alerts(scenario: Scenario, change: SizeChange) -> tuple[Finding, ...]:
    """Return everything to know, most urgent first; what several stages share is said once."""
    found = list(_line_rules(change))
    for rule in STAGE_RULES:
        for part in change.stages:
            found += [one for one in rule(scenario, part) if one is not None]
    return joined(found)


def _line_rules(change: SizeChange) -> Iterator[Finding]:
    """Yield what holds for the line: size set for, rate, lanes, corners between stages."""
    yield from _set_for(change)
    yield from _rate(change)
    for one, other in pairwise(change.stages):
        yield from _lanes_change(one, other)
        yield from _corner(one, other)


def _of_line(change: SizeChange, level: str, what: str, do: str, **words: str) -> Finding:
    return Finding(level, change.setting.size, (), what, do, values=(words,))


def _set_for(change: SizeChange) -> Iterator[Finding]:
    set_for, leaves = change.setting.scenario.set_for, change.setting.from_size
    if leaves != set_for:
        what = (
            "the scenario says the guides are set for {set_for}, not {leaves}: 'now' is where they "
            "stand in the scenario"
        )
        do = "measure as found before moving anything"
        yield _of_line(change, "watch", what, do, set_for=set_for, leaves=leaves)


def _rate(change: SizeChange) -> Iterator[Finding]:
    if min(change.setting.cans_per_min) <= 0.0:
        what = "one of the two sizes does not fit in some stage, so there is no rate to keep"
        do = "the mat speed is left as it is; set it when the size fits"
        yield _of_line(change, "change", what, do)
        return
    ratio = change.setting.speed_mm_per_s[0] / change.setting.speed_mm_per_s[1]
    if abs(ratio - 1.0) > 0.005:
        what = f"every dwell becomes {{percent}} % {'longer' if ratio > 1.0 else 'shorter'}"
        do = "check wash strength, rinse and drying for it"
        yield _of_line(change, "note", what, do, percent=f"{abs(ratio - 1.0) * 100:.1f}")


def _lanes_change(one: StageChange, other: StageChange) -> Iterator[Finding]:
    lanes = one.after.pack.lanes, other.after.pack.lanes
    was_one = one.before.pack.lanes == other.before.pack.lanes
    if one.after.pack.layout != other.after.pack.layout or lanes[0] == lanes[1] or not was_one:
        return
    yield tell(
        other.after,
        "watch",
        "{from} lanes in {before}, {to} in {stage}: the pack must re-form between the stages",
        "expect gaps there; watch the first cans",
        **{"from": str(lanes[0]), "to": str(lanes[1])},
        before=one.found.name,
        stage=other.found.name,
    )


def _corner(one: StageChange, other: StageChange) -> Iterator[Finding]:
    """Guides that step inwards from one stage to the next more than they do now."""
    new = other.setting.brackets[0].steps_in_mm(one.setting.brackets[-1])
    old = other.found.guides.brackets[0].steps_in_mm(one.found.guides.brackets[-1])
    for side, after, before in zip(("left", "right"), new, old, strict=True):
        if after > STEP_AT_JOINT_MM and after > before + 1e-6:
            yield tell(
                other.after,
                "watch",
                f"the {side} guide of {{stage}} stands {{step_mm}} farther in than {{before}}",
                "see that no can catches on the corner",
                stage=other.found.name,
                before=one.found.name,
                step_mm=after,
            )
