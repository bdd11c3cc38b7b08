"""``python -m tests.mutate --sample N --seed S``: change the program and see if a test notices.

``--only FILE`` tries the mutants of one file or folder. A survivor that nobody could notice stands
in equivalent.toml with the reason; ``--table`` prints those. Exit code 0 where no other survived.
Nothing is written in the tree: what tests reach is kept in the user's folder.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs

from tests.mutate import equivalent
from tests.mutate.mutants import ROOT, Mutant, files, mutant_at, places_in

OUT_OF_TIME, BROKEN = "out of time", "ended with 70"
HEADS = ("tried", "noticed", "in time", "equal", "survived")


def main(arguments: list[str] | None = None) -> int:
    """Try mutants, print every survivor and one table; 1 where one survived without a reason."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutate", description=__doc__)
    parser.add_argument("--only", metavar="FILE", help="mutants of this file or folder")
    parser.add_argument("--sample", type=int, default=300, help="how many, 0 for all")
    parser.add_argument("--seed", type=int, default=1, help="seed of the sample")
    parser.add_argument("--seconds", type=float, default=20.0, help="of tests asked for each")
    parser.add_argument("--again", action="store_true", help="those that survived last time")
    parser.add_argument("--table", action="store_true", help="print the reasons and end")
    asked = parser.parse_args(arguments)
    if asked.table:
        print(equivalent.as_table())
        return 0
    keep = platformdirs.user_cache_path("packsim") / "mutate"
    if asked.again:
        last = {tuple(key) for key in json.loads((keep / "survived.json").read_text("utf-8"))}
        mutants = list(equivalent.matching(last))
    else:
        mutants = _sample(asked.only, asked.sample, asked.seed)
    survivors = _try(mutants, keep, asked.seconds)
    (keep / "survived.json").write_text(json.dumps(survivors), encoding="utf-8")
    return int(bool(survivors))


def _sample(only: str | None, count: int, seed: int) -> list[Mutant]:
    """Some of all mutants, each as likely as any other; all of them where the count is 0."""
    sources = {file: (ROOT / file).read_text(encoding="utf-8") for file in files(only)}
    places = [(file, place) for file, source in sources.items() for place in places_in(source)]
    chosen = range(len(places))
    if 0 < count < len(places):
        rng = np.random.default_rng(seed)
        chosen = sorted(rng.choice(len(places), count, replace=False))
    return [mutant_at(file, sources[file], place) for file, place in (places[i] for i in chosen)]


class _Tally:
    """What became of the mutants, by room; survivors are printed as they come."""

    def __init__(self) -> None:
        self.counts = {head: Counter[str]() for head in HEADS}
        self.survivors: list[equivalent.Key] = []
        self.screen = os.fdopen(os.dup(1), "w", encoding="utf-8")  # pytest takes the usual one

    def tell(self, mutant: Mutant, told: dict[str, Any]) -> None:
        if told.get("ended") == BROKEN:
            raise RuntimeError(f"no test could be run for {mutant.file}:{mutant.line}")
        how = "survived" if told.get("noticed") == "" else "noticed"
        self.count(mutant, "in time" if told.get("ended") == OUT_OF_TIME else how)
        self.count(mutant, "tried")
        if how == "survived":
            self.survivors.append(equivalent.key_of(mutant))
            print(f"{mutant.file}:{mutant.line}\n  - {mutant.was}\n  + {mutant.now}\n"
                  f"  {told['ran']} tests passed", file=self.screen, flush=True)  # fmt: skip

    def count(self, mutant: Mutant, head: str) -> None:
        self.counts[head][mutant.file.split("/")[-2]] += 1
        self.counts[head]["all"] += 1

    def show(self) -> None:
        """Per room, how many were tried, and what share of those that differ was noticed."""
        print(f"\n{'room':12}" + "".join(f"{head:>10}" for head in HEADS) + f"{'score':>9}")
        rooms = {room for counts in self.counts.values() for room in counts} - {"all"}
        for room in (*sorted(rooms), "all"):
            counts = [self.counts[head][room] for head in HEADS]
            score = 100.0 * (counts[1] + counts[2]) / max(counts[0], 1)
            print(f"{room:12}" + "".join(f"{count:10}" for count in counts) + f"{score:7.1f} %")


def _try(mutants: list[Mutant], keep: Path, seconds: float) -> list[equivalent.Key]:
    """Try mutants and print what became of them; return those that survived without a reason."""
    os.environ |= {"OMP_NUM_THREADS": "1", "NUMBA_CACHE_DIR": str(keep / "kernels")}
    (keep / "kernels").mkdir(parents=True, exist_ok=True)
    from tests.mutate.plan import plan_of
    from tests.mutate.reach import reached
    from tests.mutate.trying import try_anew, try_here

    reach, reasons, tally = reached(keep), equivalent.reasons(), _Tally()
    here = []
    for mutant in mutants:
        plan = plan_of(mutant, reach, seconds)
        if equivalent.key_of(mutant) in reasons:
            tally.count(mutant, "equal")
        elif not plan:
            tally.tell(mutant, {"noticed": "", "ran": 0})
        elif mutant.function is None:
            tally.tell(mutant, try_anew(mutant, plan))
        else:
            here.append((mutant, plan))
    try_here(here, tally.tell)
    for file, was, now in equivalent.outlived(reasons, {mutant.file for mutant in mutants}):
        print(f"equivalent.toml: no mutant of {file} any more\n  - {was}\n  + {now}")
    tally.show()
    return tally.survivors


if __name__ == "__main__":
    sys.exit(main())
