"""How a command is asked that throws cases at the program, and the one table it ends with."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from typing import Any

End = dict[str, Any]
"""How a case ended: ``number``, ``kind``, ``words``, exit ``code``, seconds it ``took``, what is
``wrong`` with that, what was ``said``; in the place of what is wrong, why it was ``skipped``."""


def options(name: str, what: str | None, cases: int) -> argparse.ArgumentParser:
    """The options that all such commands have."""
    parser = argparse.ArgumentParser(prog=f"python -m {name}", description=what)
    parser.add_argument("--cases", type=int, default=cases, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="seed of them all")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--only", type=int, help="run this one alone")
    return parser


def numbers(asked: argparse.Namespace) -> range:
    """The numbers of the cases that are asked for."""
    if asked.only is not None:
        return range(asked.only, asked.only + 1)
    return range(asked.first, asked.first + asked.cases)


def told(ends: Iterator[End], asked: argparse.Namespace) -> int:
    """Print each case at fault and one table; return 1 where there was any."""
    tried: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    fallen: Counter[str] = Counter()
    skipped: Counter[str] = Counter()
    for end in ends:
        kind = end["kind"]
        if end.get("skipped"):
            skipped[f"{kind}: {end['skipped']}"] += 1
            continue
        tried[kind] += 1
        refused[kind] += end["code"] == 2
        fallen[kind] += bool(end["wrong"])
        if end["wrong"] or asked.only is not None:
            print(f"case {end['number']} ({kind}): {'; '.join(end['wrong']) or 'well'}")
            print(f"  {end['words']}, exit code {end['code']}, {end['took']:.1f} s\n{end['said']}")
            sys.stdout.flush()
    print(f"\n{'kind':34}{'tried':>7}{'refused':>9}{'found':>7}")
    for kind in sorted(tried):
        print(f"{kind:34}{tried[kind]:7}{refused[kind]:9}{fallen[kind]:7}")
    total = (tried.total(), refused.total(), fallen.total())
    print(f"{f'seed {asked.seed}, all':34}{total[0]:7}{total[1]:9}{total[2]:7}")
    for why in sorted(skipped):
        print(f"not tried here, {skipped[why]} of {why}")
    return int(fallen.total() > 0)
