"""Verdicts that differ between two states of one line."""

from dataclasses import dataclass

from packsim.answers import answer_stage
from packsim.line import Scenario


@dataclass(frozen=True, slots=True)
class Turned:
    """A verdict that is another one now.

    Parameters
    ----------
    stage, size : str
        Names of stage and can size.
    before, after : {"held", "loose", "can tip", "tight"}
        The verdicts.
    """

    stage: str
    size: str
    before: str
    after: str


def verdicts_turned(before: Scenario, after: Scenario) -> tuple[Turned, ...]:
    """Return every verdict that differs between two states of a line.

    Parameters
    ----------
    before, after : Scenario
        The line with the same stages and sizes in the same order.

    Returns
    -------
    tuple of Turned
        By size, then by stage; empty where every verdict stands.
    """
    found = []
    for can in before.sizes:
        for stage in before.stages:
            old, new = (
                answer_stage(line, stage.name, can.name).tipping.verdict for line in (before, after)
            )
            if old != new:
                found.append(Turned(stage.name, can.name, old, new))
    return tuple(found)
