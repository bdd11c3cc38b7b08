"""Rows about whole commands, from the start of the process to its end."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench.table import Row
from tests.bench.timing import in_turns, process_s

LINE = "scenarios/swing_line.toml"
WIDTHS = ("--over", "clear-width", "--lowest", "1366 mm", "--highest", "1396 mm", "--steps", "31")

COMMANDS: tuple[tuple[str, tuple[str, ...], float | None], ...] = (
    ("--help", ("--help",), 0.15),
    ("study", ("study", LINE), 0.9),
    ("change", ("change", LINE, "--to", "sleek body"), 1.5),
    (
        "sweep of 31 widths",
        ("sweep", LINE, *WIDTHS, "--size", "sleek body", "--stage", "wash"),
        1.2,
    ),
    ("report", ("report", LINE, "-o", "page.html"), 3.0),
    (
        "trial fit, passages kept",
        ("trial", "fit", LINE, "scenarios/trials/swing_line_trial.toml"),
        10.3,
    ),
)
"""What it is called, its words, and the most CPU seconds wanted."""

LOADING = (
    "from packsim import load_scenario, study_line; load_scenario('scenarios/swing_line.toml')"
)


TINY = ("-m", "packsim", "run", LINE, "--cans", "1", "--repeats", "1", "--workers", "1")


def whole(quick: bool) -> Iterator[Row]:
    """CPU seconds of whole processes, once they have run on the machine."""
    with tempfile.TemporaryDirectory() as folder:
        jobs = {"imports and loading": (("-c", LOADING), 0.5)}
        for name, words, limit in COMMANDS[: 2 if quick else None]:
            there = [str(Path(folder, w)) if w == "page.html" else w for w in words]
            there += ["--replace"] if "-o" in words else []
            jobs[name] = ("-m", "packsim", *there), limit
        for words, _ in jobs.values():
            process_s(words)
        times = {name: lambda words=words: process_s(words)[0] for name, (words, _) in jobs.items()}
        spent = in_turns(times, 1 if quick else 2)
    for name, (_, limit) in jobs.items():
        yield Row(name, "whole process", spent[name], "s", at_most=limit)
    if not quick:
        with tempfile.TemporaryDirectory() as empty:  # the machine code of the first is left
            first, again = (process_s(TINY, Path(empty, what))[0] for what in ("one", "two"))
        yield Row("compiling, once on a machine", "run", first - again, "s", at_most=10.0)


def runs(quick: bool) -> Iterator[Row]:
    """Counting on one process and on two: wall time, so other work on the machine is in it.

    Of the short job no process shares what is loaded before the first copy is made, a twentieth.
    """
    for kind, cans in (("short", 100),) if quick else (("short", 10_000), ("long", 50_000)):
        words = ["-m", "packsim", "run", LINE, "--size", "sleek body", "--repeats", "2"]
        words += ["--cans", str(cans), "--workers"]
        process_s([*words, "2"])  # what is expected is kept; the cans are counted anew
        times = {n: lambda n=n, words=words: process_s([*words, n])[1] for n in ("1", "2")}
        spent = in_turns(times, 1 if quick else 2)
        one, two = spent["1"], spent["2"]
        what = f"{kind}: 2 × {cans:,} cans of the sleek body, wall time"
        yield Row("run on two processes", what, two, "s", "one process", one, at_least=1.8)
        yield Row("run, a can counted, one process", what, 1e3 * one / (2 * cans))
