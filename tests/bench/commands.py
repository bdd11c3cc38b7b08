"""Rows about whole commands, from the start of the process to its end."""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench.table import Row
from tests.bench.timing import process_s, scratch

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
    ("trial fit", ("trial", "fit", LINE, "scenarios/trials/swing_line_trial.toml"), 10.3),
)
"""What it is called, its words, and the most CPU seconds wanted."""

LOADING = (
    "from packsim import load_scenario, study_line; load_scenario('scenarios/swing_line.toml')"
)


def whole(quick: bool) -> Iterator[Row]:
    """CPU seconds of whole processes, the second time they run on a machine."""
    with scratch() as environment, tempfile.TemporaryDirectory() as folder:
        jobs = {"imports and loading": (("-c", LOADING), 0.5)}
        for name, words, limit in COMMANDS[: 2 if quick else None]:
            there = [str(Path(folder, w)) if w == "page.html" else w for w in words]
            there += ["--replace"] if "-o" in words else []
            jobs[name] = ("-m", "packsim", *there), limit
        # the first writes what is kept for the next; what is slow is asked once more only
        first = {name: process_s(words, environment)[0] for name, (words, _) in jobs.items()}
        spent: dict[str, list[float]] = {name: [] for name in jobs}
        for turn in range(0 if quick else 3):
            for name, (words, _) in jobs.items():
                if first[name] < (60.0, 10.0, 10.0)[turn]:
                    spent[name].append(process_s(words, environment)[0])
    for name, (_, limit) in jobs.items():
        times = spent[name] or [first[name]]
        yield Row(name, "whole process", statistics.median(times), "s", at_most=limit)


def runs(quick: bool) -> Iterator[Row]:
    """Counting on one process and on two: wall time, so other work on the machine is in it."""
    cans = 100 if quick else 1500
    words = ["-m", "packsim", "run", LINE, "--size", "sleek body", "--repeats", "2"]
    words += ["--cans", str(cans)]
    spent: dict[int, list[float]] = {1: [], 2: []}
    with scratch() as environment:
        for _ in range(1 if quick else 3):
            for workers, times in spent.items():
                times.append(process_s([*words, "--workers", str(workers)], environment)[1])
    one, two = (statistics.median(times) for times in spent.values())
    what = f"2 × {cans:,} cans of the sleek body, wall time"
    yield Row("run on two processes", what, two, "s", "one process", one, at_least=1.8)
    yield Row("run, a can counted, one process", what, 1e3 * one / (2 * cans))
