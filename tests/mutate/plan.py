"""Which tests are asked about a mutant, and in which order: the quickest first."""

from __future__ import annotations

from tests.mutate.mutants import Mutant
from tests.mutate.reach import Reach
from tests.mutate.trying import Plan


def plan_of(mutant: Mutant, reach: dict[str, dict[str, Reach]], most_s: float) -> Plan:
    """Choose the tests that pass through a mutant's statement, up to some seconds in all.

    Tests of one file follow each other, because they share what they set up. What runs on import is
    for every test that passes through the file.
    """
    by_file = []
    for tests in reach.values():
        own = {name: sum(one.seconds) for name, one in tests.items() if _meets(mutant, one)}
        if own:
            by_file.append(sorted(own.items(), key=lambda pair: pair[1]))
    plan: Plan = {}
    left = most_s
    for own_tests in sorted(by_file, key=lambda pairs: sum(s for _, s in pairs)):
        for name, seconds in own_tests:
            left -= seconds
            if left < 0.0:
                break
            plan[name] = seconds
    return plan


def _meets(mutant: Mutant, test: Reach) -> bool:
    lines = test.lines.get(mutant.file, [])
    first, last = mutant.span
    return bool(lines) and (mutant.function is None or any(first <= n <= last for n in lines))
