"""What to tell the engineer: what is wrong, by how much, what to do; the most urgent first.

A rule looks at one answer and says nothing or one thing. Answers of one size that get the same
words become one finding whose lengths are ranges over its stages.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from packsim.answers import Answer
from packsim.line import Scenario
from packsim.study.remark import Remark
from packsim.study.rules import RULES

__all__ = ["LEVELS", "Finding", "Span", "find_all", "metric"]

LEVELS: Final = ("stop", "change", "watch", "note")
"""``stop``: cans cannot run so. ``change``: before a trial. ``watch``: keep an eye on it."""

Span = tuple[float, float]
"""Least and greatest of a length over the stages of a finding [mm]."""


def metric(mm: float) -> str:
    """Format a length [mm] with its unit."""
    return f"{mm:.1f} mm"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to tell, for one size and the stages it holds for.

    Parameters
    ----------
    level : {"stop", "change", "watch", "note"}
        How urgent it is.
    size : str
        Name of the can size.
    stages : tuple of str
        Names of the stages, in order.
    what_text, do_text : str
        What is the case, and what to do; ``{name}`` stands for a length.
    lengths_mm : tuple of (str, (float, float))
        Those lengths with their range over the stages [mm].
    """

    level: str
    size: str
    stages: tuple[str, ...]
    what_text: str
    do_text: str
    lengths_mm: tuple[tuple[str, Span], ...] = ()

    @property
    def what(self) -> str:
        """What is the case, lengths in mm."""
        return self.say(self.what_text)

    @property
    def do(self) -> str:
        """What to do about it, lengths in mm; may be empty."""
        return self.say(self.do_text)

    def say(self, text: str, length: Callable[[float], str] = metric) -> str:
        """Fill the lengths of this finding into one of its texts.

        Parameters
        ----------
        text : str
            ``what_text`` or ``do_text``.
        length : callable
            Formats one length [mm] with its unit.
        """
        for name, (low, high) in self.lengths_mm:
            shown = length(low), length(high)
            words = shown[0] if shown[0] == shown[1] else f"{shown[0]} to {shown[1]}"
            text = text.replace("{" + name + "}", words)
        return text


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
    found = []
    for size in sizes:
        mine = [answer for answer in answers if answer.size == size]
        for rule in RULES:
            remarks = [(answer.stage, rule(scenario, answer)) for answer in mine]
            found += _grouped(size, [(stage, r) for stage, r in remarks if r is not None])
    return tuple(sorted(found, key=lambda finding: LEVELS.index(finding.level)))


def _grouped(size: str, remarks: list[tuple[str, Remark]]) -> list[Finding]:
    groups: dict[tuple[str, str, str], list[tuple[str, Remark]]] = {}
    for stage, remark in remarks:
        groups.setdefault((remark.level, remark.what, remark.do), []).append((stage, remark))
    return [_finding(size, key, members) for key, members in groups.items()]


def _finding(size: str, key: tuple[str, str, str], members: list[tuple[str, Remark]]) -> Finding:
    names = members[0][1].lengths_mm.keys()
    values = {name: [remark.lengths_mm[name] for _, remark in members] for name in names}
    spans = tuple((name, (min(row), max(row))) for name, row in values.items())
    return Finding(key[0], size, tuple(stage for stage, _ in members), key[1], key[2], spans)
