"""Every benchmark in one command: ``python -m tests.bench`` writes shared/benchmarks.md.

It takes some minutes; have nothing else running. ``--quick`` tries every row on small packs, which
says nothing about speed; ``--part NAME`` measures one part. Both print and write nothing.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator

from tests.bench import answers, commands, packs, passage, viewer
from tests.bench.table import Row, markdown
from tests.bench.timing import ROOT

OUT = ROOT / "shared" / "benchmarks.md"

PARTS: dict[str, tuple[Callable[[bool], Iterator[Row]], str]] = {
    "step": (
        passage.steps,
        "One step of 0.05 s in the steady state: kicks, drift, tips, infeed, discharge, overlaps "
        "below 0.02 mm. The peers get the same cans, guides, kicks and drift, and only their own "
        "step is on their bill. What pymunk takes differs from one time to another: each row is "
        f"that of the process with the middle ratio, of {passage.PROCESSES} fresh ones.",
    ),
    "looks": (passage.looks, "A standing moment of the same packs, every can asked."),
    "pairs": (packs.pairs, ""),
    "leans": (packs.leans, ""),
    "voids": (packs.voids, ""),
    "answers": (answers.answers, ""),
    "nozzles": (answers.nozzles, "The peers look at a grid and drop what cannot be the best."),
    "commands": (
        commands.whole,
        "CPU time of the whole process on the shipped swing line, once it has run on this machine.",
    ),
    "run": (commands.runs, ""),
    "viewer": (viewer.pictures, "Full HD, a software surface."),
    "growth": (passage.growth, "The least pack is the peer: a ratio of 1 is linear growth."),
}
"""By name: what measures it, and what stands above its rows."""


def main(arguments: list[str]) -> int:
    """Measure the parts asked for; write the table when all of them were."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="small packs, once each")
    parser.add_argument("--part", action="append", choices=PARTS, help="only this part")
    options = parser.parse_args(arguments)
    found: dict[str, list[Row]] = {}
    for name in options.part or PARTS:
        measure, _ = PARTS[name]
        started, found[name] = time.perf_counter(), []
        for row in measure(options.quick):
            found[name].append(row)
            print(" | ".join(row.cells), flush=True)
        print(f"== {name}: {time.perf_counter() - started:.0f} s", flush=True)
    if not options.quick and not options.part:
        text = markdown(found, {name: note for name, (_, note) in PARTS.items()})
        OUT.write_text(text, encoding="utf-8")
        print(f"wrote {OUT}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
