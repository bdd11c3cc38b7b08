"""``python -m tests.soak --steps N --hours H``: carry packs on for long and look what is wrong.

Every shipped line and size, as a slice and full of cans, first as set and then set otherwise,
share N can-steps. The smallest line, number -1, runs on for H hours besides, and its memory is
measured.
``--only NUMBER`` runs one case again and shows it. Exit code 0 where nothing was found.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator

import numpy as np

from tests.soak.cases import case_of, long_case
from tests.soak.soak import End, soak, soak_for_hours
from tests.tried import End as Told
from tests.tried import numbers, options, told

LEAST_STEPS = 120
"""Steps of every case, however many cans it has."""


def main(arguments: list[str] | None = None) -> int:
    """Run the cases and print what was found; 1 where anything was."""
    parser = options("tests.soak", __doc__, 260)
    parser.add_argument("--steps", type=float, default=1e7, help="can-steps of all together")
    parser.add_argument("--hours", type=float, default=24.0, help="of the line that runs on")
    asked = parser.parse_args(arguments)
    done: Counter[str] = Counter()
    found = told(_ends(asked, done), asked)
    hours = done["seconds"] / 3600.0
    print(f"{done['can-steps']:,} can-steps, {hours:.1f} hours of passage; the line that runs on "
          f"left {done['grown']:,} bytes more at the end than after an eighth")  # fmt: skip
    return found


def _ends(asked: argparse.Namespace, done: Counter[str]) -> Iterator[Told]:
    long = [-1] if asked.hours and asked.only is None else []
    for number in [*numbers(asked), *long]:
        case = long_case() if number < 0 else case_of(asked.seed, number)
        rng = np.random.default_rng([asked.seed, 1, abs(number)])
        began = time.process_time()
        if number < 0:
            end = soak_for_hours(case, rng, asked.hours)
        else:
            end = soak(case, rng, can_steps=asked.steps / asked.cases, least=LEAST_STEPS)
        done.update({"can-steps": end.can_steps, "seconds": round(end.time_s), "grown": end.grown})
        yield {
            "number": number,
            "kind": case.kind,
            "words": case.words,
            "code": 2 if case.refused else 0,
            "took": time.process_time() - began,
            "wrong": end.wrong,
            "said": case.refused or _said(end),
        }


def _said(end: End) -> str:
    return f"{end.can_steps:,} can-steps, {end.time_s:.0f} s of passage"


if __name__ == "__main__":
    sys.exit(main())
