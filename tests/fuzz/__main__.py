"""``python -m tests.fuzz --cases N --seed S``: throw cases at the commands and count what falls.

``--only NUMBER`` runs one case again and shows it. Exit code 0 where nothing was found.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter

from tests.fuzz.pool import ended_cases


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print what was found; 1 where anything was."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=1000, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="seed of them all")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--only", type=int, help="run this one alone")
    parser.add_argument("--workers", type=int, default=1, help="processes at a time")
    asked = parser.parse_args(arguments)
    first, cases = (asked.first, asked.cases) if asked.only is None else (asked.only, 1)
    tried: Counter[str] = Counter()
    fallen: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    for end in ended_cases(asked.seed, range(first, first + cases), asked.workers):
        tried[end["kind"]] += 1
        refused[end["kind"]] += end["code"] == 2
        fallen[end["kind"]] += bool(end["wrong"])
        if end["wrong"] or asked.only is not None:
            print(f"case {end['number']} ({end['kind']}): {'; '.join(end['wrong']) or 'well'}")
            print(f"  {end['words']}, exit code {end['code']}, {end['took']:.1f} s\n{end['said']}")
            sys.stdout.flush()
    print(f"\n{'kind':34}{'tried':>7}{'refused':>9}{'found':>7}")
    for kind in sorted(tried):
        print(f"{kind:34}{tried[kind]:7}{refused[kind]:9}{fallen[kind]:7}")
    total = (tried.total(), refused.total(), fallen.total())
    print(f"{f'seed {asked.seed}, all':34}{total[0]:7}{total[1]:9}{total[2]:7}")
    return int(fallen.total() > 0)


if __name__ == "__main__":
    sys.exit(main())
