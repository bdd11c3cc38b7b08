"""What a case stands on: a folder, a command that writes a file there, and what it should write."""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from subprocess import PIPE, TimeoutExpired
from typing import Any

import pytest

from packsim.compiling import FIRST_TIME
from packsim.kept import FOLDER_VARIABLE
from packsim.write import clear_unfinished
from tests.fuzz.case import ROOT, SCENARIOS
from tests.fuzz.child import run
from tests.processes import left_of, own_group

OLD = b"what was there before\n" * 4000
WAITS_S = 300.0
TRIALS = """schema = 2
about = "Invented, to have something to fit."
""" + "".join(
    f"""
[[trials]]
name = "at {width} mm"
date = 2025-03-04
size = "211 body"
cans = 60_000
tipped = {tipped}

[[trials.stages]]
stage = "wash"
clear_width = "{width} mm"
tipped = {tipped}
"""
    for width, tipped in ((588, 71), (586, 12))
)
COMMANDS: dict[str, tuple[str, ...]] = {
    "report": ("report", "small.toml", "-o", "out.html"),
    "run --record": ("run", "small.toml", "--cans", "60", "--repeats", "3", "--workers", "2",
                     "--slices", "--can-friction", "0.1", "--record", "out.npz"),
    "run --resume": ("run", "small.toml", "--cans", "60", "--repeats", "20", "--workers", "2",
                     "--slices", "--can-friction", "0.1", "--resume", "runs.jsonl",
                     "--json", "out.json"),
    "change --save": ("change", "two.toml", "--to", "16 oz", "--save", "out.toml"),
    "trial fit -o": ("trial", "fit", "small.toml", "trial.toml", "-o", "out.toml"),
}  # fmt: skip
"""By name, a command line that ends with the name of the file it writes."""


@dataclass
class Case:
    """A command in a folder of its own, and how it ended; ``wrong`` gathers what should not be."""

    folder: Path
    name: str
    words: list[str]
    code: int = 0
    out: str = ""
    err: str = ""
    wrong: list[str] = field(default_factory=list)

    @property
    def output(self) -> Path:
        """The file that is written."""
        return Path(self.words[-1])

    def expect(self, holds: bool, otherwise: str) -> None:
        """Note what is wrong unless something holds."""
        if not holds:
            self.wrong.append(otherwise)

    def here(self, *more: str, cache: Path | None = None) -> None:
        """Run the command in this process."""
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv(FOLDER_VARIABLE, str(cache or self.folder / "kept"))
            self.code, self.out, self.err = run((*self.words, *more), "")
        if self.code in (130, 143):  # that was for this program
            raise KeyboardInterrupt

    def in_order(self, codes: tuple[int, ...]) -> None:
        """Expect one of some exit codes, and no traceback, whatever went wrong."""
        self.expect(self.code in codes, f"exit code {self.code}, not of {codes}")
        self.expect(not re.search(r"Traceback|Exception ignored", self.err), "traceback")

    def whole(self, *, old: bool, new: bool) -> None:
        """Expect the old file or the new one, whole; or what a run that was interrupted counted."""
        right = [OLD] * old + [wanted(self.name)] * new
        got = self.output.read_bytes() if self.output.exists() else b""
        if old and new and self.code == 0 and b'"interrupted": true' in got:
            (case,) = json.loads(got)["cases"]
            fewer = len(case["runs"]) < case["asked"] and "to go on" in case["notes"][-1]
            self.expect(fewer, f"{self.output.name} does not say what is missing")
            return
        self.expect(got in right, f"{self.output.name} is neither the old nor the new one"
                    if old and new else f"{self.output.name} is not as it should be")  # fmt: skip

    def tidy(self) -> None:
        """Expect no file but the ones put here, the one asked for and what is kept.

        Where something is kept, what was left goes with the next thing that is: here it is told to.
        """
        for place in (self.folder / "kept").glob("*/"):
            clear_unfinished(place)
        left = {p.name for p in self.folder.iterdir()} - {self.output.name, "kept", RUNS, *FILES}
        left |= {str(p.relative_to(self.folder)) for p in self.folder.rglob(".packsim-*")}
        self.expect(not left, f"left: {sorted(left)}")

    def goes_on(self) -> None:
        """Expect that asked again the command does what it should, and tidies up."""
        was = self.code, self.out, self.err
        self.here("--replace")
        self.expect(self.code == 0, f"asked again: exit code {self.code}: {self.err[-300:]}")
        self.whole(old=False, new=True)
        self.tidy()
        self.code, self.out, self.err = was

    @contextmanager
    def started(self, *more: str, moment: int = 0, **how: Any) -> Iterator[Any]:
        """Start the command as a process, ended by a signal at a line of writing, where told.

        Once the block is done it has `WAITS_S` to end, and nobody may be left.
        """
        env = {FOLDER_VARIABLE: str(self.folder / "kept"), "MPLBACKEND": "Agg"} | how.pop("env", {})
        child = [sys.executable, "-m", "tests.faults.child", str(moment), str(how.pop("number", 9))]
        how = {"stdin": PIPE, "stdout": PIPE, "stderr": PIPE, "cwd": self.folder} | how
        room = {k: v for k, v in (os.environ | env | {"PYTHONPATH": str(ROOT)}).items() if v != "-"}
        with own_group([*child, *self.words, *more], env=room, **how) as process:
            yield process
            try:
                out, err = process.communicate(timeout=WAITS_S)
            except TimeoutExpired:
                out, err = b"", b""
                self.wrong.append(f"still there after {WAITS_S:g} s")
            self.code = process.returncode if process.returncode is not None else -99
            self.out, self.err = ((text or b"").decode(errors="replace") for text in (out, err))
            self.err = self.err.replace(FIRST_TIME + "\n", "")  # on a machine that has not compiled
            left = left_of(process.pid)
            self.expect(not left, f"{len(left)} processes left at work")


FILES = ("small.toml", "two.toml", "trial.toml")
RUNS = "runs.jsonl"
"""Where finished runs are kept; asked again, a command goes on from them to the same answer."""


@cache
def _texts() -> dict[str, str]:
    """The files a case reads: a line so short that every command is quick."""
    line = (SCENARIOS / "first_look.toml").read_text(encoding="utf-8")
    small = re.sub(r'(?m)^length = ".*?"', 'length = "0.5 m"', line)
    two = (SCENARIOS / "height_only.toml").read_text(encoding="utf-8")
    return dict(zip(FILES, (small, two, TRIALS), strict=True))


@contextmanager
def put(name: str, *, old: bool = True) -> Iterator[Case]:
    """A command in a folder of its own, over an old file or none."""
    with tempfile.TemporaryDirectory(prefix="faults_") as place:
        folder = Path(place)
        for file, text in _texts().items():
            (folder / file).write_text(text, encoding="utf-8")
        (folder / "kept").mkdir()
        words = [str(folder / w) if w in (RUNS, *FILES) or w.startswith("out.") else w
                 for w in COMMANDS[name]]  # fmt: skip
        case = Case(folder, name, ["packsim", *words])
        if old:
            case.output.write_bytes(OLD)
        yield case


@cache
def wanted(name: str) -> bytes:
    """What a command writes when nobody disturbs it."""
    with put(name, old=False) as case:
        case.here()
        assert case.code == 0, case.err
        return case.output.read_bytes()


@cache
def lasts(name: str) -> tuple[float, int]:
    """How long a command takes as a process [s], and how many lines of writing it runs through."""
    wanted(name)  # a machine compiles once
    with put(name) as case:
        began = time.perf_counter()
        with case.started("--replace", moment=-1):
            pass
        assert case.code == 0, case.err
        return time.perf_counter() - began, int(case.err.rsplit("lines of writing: ")[-1])
