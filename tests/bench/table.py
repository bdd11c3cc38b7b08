"""One row of the benchmark table, and the table as Markdown."""

from __future__ import annotations

import importlib.metadata
import math
import os
import platform
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

HEAD = ("work", "state of the pack", "ours", "peer", "its figure", "ratio", "goal", "")
LIBRARIES = ("numpy", "numba", "scipy", "shapely", "pymunk", "freud-analysis", "pygame")


@dataclass(frozen=True)
class Row:
    """What was measured of one piece of work, and what was wanted.

    ``ours`` and ``theirs`` are in ``unit``, less is better; ``peer`` says what theirs is. The goal
    is ``at_most``, in the same unit, and that theirs is ``at_least`` so many times ours.
    """

    work: str
    pack: str
    ours: float
    unit: str = "ms"
    peer: str = ""
    theirs: float | None = None
    at_most: float | None = None
    at_least: float | None = None

    @property
    def ratio(self) -> float | None:
        """Theirs over ours: how many times less we take."""
        return None if self.theirs is None else self.theirs / self.ours

    @property
    def met(self) -> bool | None:
        """Whether every goal is met; None without a goal."""
        kept = []
        if self.at_most is not None:
            kept.append(self.ours <= self.at_most)
        if self.at_least is not None:
            kept.append(self.ratio is not None and self.ratio >= self.at_least)
        return all(kept) if kept else None

    @property
    def cells(self) -> tuple[str, ...]:
        """The row as text, in the order of `HEAD`."""
        goals = []
        if self.at_most is not None:
            goals.append(f"≤ {self.at_most:.3g} {self.unit}")
        if self.at_least is not None:
            goals.append(f"≥ {self.at_least:g} ×")
        return (
            self.work,
            self.pack,
            f"{digits(self.ours)} {self.unit}",
            self.peer or "–",
            "–" if self.theirs is None else f"{digits(self.theirs)} {self.unit}",
            "–" if self.ratio is None else f"{digits(self.ratio)} ×",
            ", ".join(goals) or "none set",
            {None: "", True: "met", False: "MISSED"}[self.met],
        )


def digits(value: float) -> str:
    """Three digits that count, without an exponent: 0.0123, 1.23, 123, 12,300."""
    if value == 0.0:
        return "0"
    if not math.isfinite(value):
        return "too many to wait for,"
    rounded = float(f"{value:.2e}")
    places = max(0, 2 - int(f"{rounded:e}".partition("e")[2]))
    return f"{rounded:,.{places}f}"


def markdown(parts: Mapping[str, Iterable[Row]], notes: Mapping[str, str]) -> str:
    """Return the whole file: how it was made, then a table for each part, its notes above it."""
    kept = {name: tuple(rows) for name, rows in parts.items()}
    verdicts = [row.met for rows in kept.values() for row in rows]
    missed = [row.work for rows in kept.values() for row in rows if row.met is False]
    lines = [
        "# Benchmarks",
        "",
        "Written by `python -m tests.bench`; not edited by hand.",
        "",
        "CPU time of one process (threads and children included) unless a row says otherwise:",
        "medians of runs in turns, ours and the peer's one after the other in the same process, so",
        "that other work on the machine slows both. Peers do the same work and the answers are",
        "compared before anything is timed. Ratio: the peer's figure over ours.",
        "",
        f"Machine: {machine()}.",
        "",
        f"Goals: {verdicts.count(True)} met, {verdicts.count(False)} missed"
        + (f" ({'; '.join(dict.fromkeys(missed))})." if missed else "."),
    ]
    for name, rows in kept.items():
        lines += ["", f"## {name}", ""]
        lines += [notes[name], ""] if notes.get(name) else []
        lines += [_line(HEAD), _line(("---",) * len(HEAD)), *(_line(row.cells) for row in rows)]
    return "\n".join(lines) + "\n"


def machine() -> str:
    """Processor, cores, system, Python and the libraries that matter here."""
    info = Path("/proc/cpuinfo")
    names = [
        line.partition(":")[2].strip()
        for line in (info.read_text("utf-8").splitlines() if info.exists() else ())
        if line.startswith("model name")
    ]
    versions = ", ".join(f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES)
    processor = names[0] if names else platform.processor() or platform.machine()
    return (
        f"{processor}, {os.cpu_count()} cores, {platform.system()}, "
        f"Python {platform.python_version()}, {versions}"
    )


def _line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(cells) + " |"
