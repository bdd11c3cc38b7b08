"""Every rule about an answer, in the order an engineer would ask."""

from collections.abc import Callable
from typing import Final

from packsim.answers import Answer
from packsim.findings import funnel_rules as funnel
from packsim.findings import machine_rules as machine
from packsim.findings import pack_rules as pack
from packsim.findings import window_rules as window
from packsim.findings.finding import Finding, joined, tell
from packsim.line import Scenario

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
    machine.hold_down_height,
    machine.header_height,
    machine.sprays_alone,
    machine.sprays_halve,
    window.no_window,
    pack.tipping,
    pack.parted,
    window.off_window,
    window.narrow_window,
    window.bracket_travel,
    funnel.steep,
    funnel.turns_back,
    funnel.corner,
    funnel.wide_end,
    pack.pockets,
    machine.nozzles,
    pack.room_for_a_can,
    all_well,
)
"""Every rule about one answer; a new one is written here, and named in its test."""


def find_all(scenario: Scenario, answers: tuple[Answer, ...]) -> tuple[Finding, ...]:
    """Return every finding of the answers, most urgent first, the size set for before the others.

    Parameters
    ----------
    scenario : Scenario
        The case.
    answers : tuple of Answer
        Its answers.

    Returns
    -------
    tuple of Finding
        Sorted by level, then size in the scenario's order, then rule.
    """
    sizes = sorted((can.name for can in scenario.sizes), key=lambda name: name != scenario.set_for)
    said = (
        rule(scenario, answer)
        for size in sizes
        for rule in RULES
        for answer in answers
        if answer.size == size
    )
    return joined((*doubts(scenario), *(one for one in said if one is not None)))


def doubts(scenario: Scenario) -> tuple[Finding, ...]:
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
        for one in scenario.doubts
    )
