"""Which tests are asked about a mutant, and in which order: the quickest first."""

from __future__ import annotations

from tests.mutate.mutants import Mutant
from tests.mutate.reach import Reach
from tests.mutate.trying import Plan

QUICK = 0.3
"""Seconds that a quick test takes at most."""


def plan_of(mutant: Mutant, reach: dict[str, dict[str, Reach]], most_s: float) -> Plan:
    """Choose the tests that pass through a mutant's statement, up to some seconds in all.

    Those of its own room come first, and of them the quick ones, then those of the file that takes
    least. Tests of one file follow each other, because they share what they set up. What runs on
    import is for every test of the room or that passes through the file: a table that is read is no
    line that is passed.
    """
    by_file = []
    for file, tests in reach.items():
        elsewhere = file.split("/")[1] != mutant.file.split("/")[1]
        at_home = mutant.function is None and not elsewhere
        meeting = (n for n, one in tests.items() if at_home or _meets(mutant, one))
        own = sorted(((n, sum(tests[n].seconds)) for n in meeting), key=_seconds)
        for slow in (False, True):
            part = [pair for pair in own if (pair[1] > QUICK) == slow]
            if part:
                by_file.append((elsewhere, slow, sum(map(_seconds, part)), part))
    plan: Plan = {}
    left = most_s
    for *_, own_tests in sorted(by_file, key=lambda one: one[:3]):
        for name, seconds in own_tests:
            left -= seconds
            if left < 0.0:
                break
            plan[name] = seconds
    return plan


def _seconds(pair: tuple[str, float]) -> float:
    return pair[1]


def _meets(mutant: Mutant, test: Reach) -> bool:
    lines = test.lines.get(mutant.file, [])
    first, last = mutant.span
    return bool(lines) and (mutant.function is None or any(first <= n <= last for n in lines))
