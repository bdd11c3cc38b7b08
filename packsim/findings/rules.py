"""Every rule about an answer, in the order an engineer would ask, and the rules about a funnel."""

import math
from collections.abc import Callable, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.findings import machine_rules as machine
from packsim.findings import pack_rules as pack
from packsim.findings import window_rules as window
from packsim.findings.finding import Finding, joined, tell
from packsim.findings.unsettled import in_doubt, measured_first, sure_enough
from packsim.line import Scenario
from packsim.width.funnel import (
    GUIDE_FRICTION,
    farthest_step_mm,
    steepest_rad,
    turns_in_rad,
)


def steep(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a face that turns in more than a can can follow."""
    stage = scenario.stage(answer.stage)
    if stage.guides.shape != "funnel" or not answer.pack.fits:
        return None
    turns = turns_in_rad(stage.guides)
    limit = steepest_rad(stage.layout)
    at = max(range(len(turns)), key=lambda i: max(turns[i]), default=None)
    if at is None or max(turns[at]) <= limit:
        return None
    one, other = stage.guides.brackets[at : at + 2]
    return tell(
        answer,
        "change",
        "the funnel turns in by {turn}° a side between its brackets at {from_mm} and {to_mm}; a "
        "can follows {most}° at most (friction at the guides taken as {friction}) and wedges "
        "between guide and pack past that",
        "let the guide face move in by at most {in_mm} between these two brackets",
        turn=f"{math.degrees(max(turns[at])):.1f}",
        most=f"{math.degrees(limit):.1f}",
        friction=f"{GUIDE_FRICTION:g}",
        from_mm=one.station_mm,
        to_mm=other.station_mm,
        in_mm=(other.station_mm - one.station_mm) * math.tan(limit),
    )


def turns_back(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a funnel that narrows and widens again."""
    guides = scenario.stage(answer.stage).guides
    if guides.shape != "funnel":
        return None
    turns = [turn for pair in turns_in_rad(guides) for turn in pair]
    if min(turns, default=0.0) >= 0.0 or max(turns) <= 0.0:
        return None
    return tell(
        answer,
        "change",
        "the guides are called a funnel, but they narrow and widen again",
        "set every bracket in line with its neighbours; if they should stand alike, write "
        'shape = "straight" under the guides of the stage',
    )


def corner(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a guide that steps in where cans enter or leave a funnel."""
    names = [stage.name for stage in scenario.stages]
    at = names.index(answer.stage)
    stage = scenario.stages[at]
    if stage.guides.shape != "funnel" or not answer.pack.fits:
        return None
    most = farthest_step_mm(stage.layout, answer.pack.diameter_mm)
    faces = [one.guides.brackets for one in scenario.stages]
    joints = [(i - 1, i) for i in (at, at + 1) if 0 < i < len(names)]
    found = [(max(faces[j][0].steps_in_mm(faces[i][-1])), j) for i, j in joints]
    step, where = max(found, default=(0.0, at))
    if step <= most:
        return None
    return tell(
        answer,
        "change",
        "where {after} begins a guide stands {step_mm} farther in than the one before: a can "
        "catches on the corner past {most_mm}",
        "set the last bracket before it and the first of {after} in line",
        after=names[where],
        step_mm=step,
        most_mm=most,
    )


def wide_end(scenario: Scenario, answer: Answer) -> Finding | None:
    """Say that a funnel is judged at its narrow end, and what slack its wide end has."""
    stage = scenario.stage(answer.stage)
    if stage.guides.shape != "funnel" or not answer.pack.fits or answer.tipping.blocked:
        return None
    slack = answer.tipping.loosest_slack_mm + stage.guides.widest_mm - stage.guides.narrowest_mm
    if slack <= answer.tipping.safe.slack_mm:
        return None
    return tell(
        answer,
        "watch",
        "a funnel, judged at its narrowest bracket; at its wide end slack can reach {wide_mm}, "
        "and a can tips if it finds more than {safe_mm}",
        "keep sprays and kicks away from the wide end, or hold the cans down there",
        wide_mm=slack,
        safe_mm=answer.tipping.safe.slack_mm,
    )


Rule = Callable[[Scenario, Answer], Finding | None]


def all_well(scenario: Scenario, answer: Answer) -> Finding | None:
    """Nothing else had anything to say."""
    silent = (all_well, machine.idle_wire)
    if any(rule(scenario, answer) for rule in RULES if rule not in silent):
        return None
    return tell(answer, "note", "held, inside the guide window")


RULES: Final[tuple[Rule, ...]] = (
    pack.fits,
    pack.holds_the_line,
    pack.asked_state,
    pack.squeezed_lanes,
    pack.thin_infeed,
    machine.wires,
    machine.idle_wire,
    machine.hold_down_crushes,
    machine.hold_down_height,
    machine.header_height,
    machine.sprays_alone,
    machine.sprays_halve,
    machine.mat_jolts,
    window.no_window,
    pack.tipping,
    pack.parted,
    window.off_window,
    in_doubt,
    window.narrow_window,
    window.bracket_travel,
    steep,
    turns_back,
    corner,
    wide_end,
    pack.pockets,
    machine.nozzles,
    pack.room_for_a_can,
    all_well,
)
"""Every rule about one answer; a new one is written here, and named in its test."""

STOPPING: Final = (*pack.STOPPING, *machine.STOPPING)
"""Rules that may say that cans cannot run so; no other does."""

MOVING: Final = (
    pack.squeezed_lanes,
    pack.thin_infeed,
    window.no_window,
    pack.tipping,
    window.off_window,
)
"""Rules that move guides or change cans: not before it is sure enough that they are to move."""


def said_of(rule: Rule, scenario: Scenario, answer: Answer) -> Finding | None:
    """Return what a rule says of an answer, with what to measure first where that is open."""
    said = rule(scenario, answer)
    if said is not None and rule is window.narrow_window and not sure_enough(scenario, answer):
        return None  # where the window lies is what is open
    return said if said is None or rule not in MOVING else measured_first(scenario, answer, said)


def find_all(
    scenario: Scenario, answers: tuple[Answer, ...], rules: Sequence[Rule] = RULES
) -> tuple[Finding, ...]:
    """Return every finding of the answers, most urgent first, the size set for before the others.

    Parameters
    ----------
    scenario : Scenario
        The case.
    answers : tuple of Answer
        Its answers.
    rules : sequence of callable, optional
        Those that are asked, of `RULES`.

    Returns
    -------
    tuple of Finding
        Sorted by level, then size in the scenario's order, then rule.
    """
    sizes = sorted((can.name for can in scenario.sizes), key=lambda name: name != scenario.set_for)
    said = (
        said_of(rule, scenario, answer)
        for size in sizes
        for rule in rules
        for answer in answers
        if answer.size == size
    )
    return joined((*asked(scenario), *(one for one in said if one is not None)))


def asked(scenario: Scenario) -> tuple[Finding, ...]:
    """Ask about every value of the file that can be, but hardly is."""
    return tuple(
        Finding(
            level="stop" if one.question else "watch",
            size=one.size or scenario.set_for,
            stages=(one.stage,) if one.stage else (),
            what_text=f"{one.key} = {one.text} is unlikely; usual is {one.usual}",
            do_text=one.question or "look whether it is right; if so, nothing is to be done",
            brief_text=f"{one.key}: " + (one.question or f"is {one.text} right?"),
        )
        for one in scenario.unlikely
    )
