"""What a program is started with: streams, places of the user, language and time."""

from __future__ import annotations

import os
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from tests.faults.case import Case, put
from tests.faults.places import QUICK, NotHereError
from tests.fuzz.case import chance, pick

Rng = np.random.Generator
LONG = (
    ("study", "two.toml", "--json", "-"),
    ("study", "two.toml", "--all"),
    ("sizes",),
    ("doubt", "small.toml", "--json", "-"),
    ("change", "two.toml", "--to", "16 oz"),
)
"""Commands that say much."""


def no_terminal(rng: Rng) -> Case:
    """Some of the three streams are closed."""
    with put(pick(rng, QUICK)) as case:
        closed = [number for number in (0, 1, 2) if chance(rng, 0.6)]
        how = {name: None for i, name in enumerate(("stdin", "stdout", "stderr")) if i in closed}

        def close() -> None:
            signal.signal(signal.SIGINT, signal.default_int_handler)
            for number in closed:
                os.close(number)

        with case.started("--replace", before=close, **how):
            pass
        case.in_order((1,) if 1 in closed else (0,))
        case.whole(old=False, new=True)
        case.expect(1 not in closed or 2 in closed or "cannot write" in case.err, "not said")
        case.tidy()
        return case


def closed_pipe(rng: Rng) -> Case:
    """A reader that has enough after a line, as ``head -1``, or after none."""
    with put("report", old=False) as case:
        case.words = ["packsim", *pick(rng, LONG)]
        with case.started() as process:
            if chance(rng, 0.8):
                process.stdout.readline()
            process.stdout.close()
            process.stdout = None
        case.in_order((0, 1))
        case.expect(case.err == "", "a reader that has enough is nothing to talk about")
        return case


def full_output(rng: Rng) -> Case:
    """Standard output that takes no more."""
    if not Path("/dev/full").exists():
        raise NotHereError("no /dev/full")
    with put("report", old=False) as case, Path("/dev/full").open("wb") as full:
        case.words = ["packsim", *pick(rng, LONG)]
        with case.started(stdout=full):
            pass
        case.in_order((1,))
        case.expect("No space left" in case.err and case.err.count("\n") == 1, "not said in a line")
        return case


def no_home(rng: Rng) -> Case:
    """A home that is not there, is no folder, or is nobody's; a chart is drawn all the same."""
    with put(pick(rng, QUICK)) as case:
        (case.folder / "kept").rmdir()
        homes = ("/proc/none", str(case.folder / "small.toml"), "~", "/")
        names = ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "PACKSIM_CACHE", "MPLCONFIGDIR")
        env = dict.fromkeys(names, "-") | {"HOME": pick(rng, homes[:3])}
        if chance(rng, 0.5):
            env["XDG_CACHE_HOME"] = pick(rng, homes[:2])
        with case.started("--replace", env=env):
            pass
        case.in_order((0,))
        case.expect(case.err == "", "a home that cannot be written is nothing to talk about")
        case.whole(old=False, new=True)
        case.tidy()
        drawing = Case(case.folder, case.name, ["packsim", "draw", str(case.folder / "small.toml"),
                       "--stage", "wash", "--size", "211 body", "--view", "plan", "-o",
                       str(case.folder / "out.png")])  # fmt: skip
        with drawing.started(env=env):
            pass
        case.expect((drawing.code, drawing.err) == (0, ""), f"a drawing: {drawing.err[-500:]}")
        case.expect(not (case.folder / "~").exists(), "a folder called ~")
        return case


@cache
def _languages() -> tempfile.TemporaryDirectory[str]:
    """A folder with a language that writes 1,5; removed when this program ends."""
    folder = tempfile.TemporaryDirectory(prefix="languages_")
    how = ["localedef", "-i", "de_DE", "-f", "UTF-8", f"{folder.name}/de_DE.UTF-8"]
    try:
        subprocess.run(how, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as problem:
        folder.cleanup()
        raise NotHereError(f"no localedef that makes a language: {problem}") from None
    return folder


def decimal_comma(rng: Rng) -> Case:
    """A language that writes 1,5, and a program that has set it."""
    with put(pick(rng, QUICK)) as case:
        env = {"LOCPATH": _languages().name, "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
        with case.started("--replace", env=env):
            pass
        case.in_order((0,))
        case.whole(old=False, new=True)
        case.tidy()
        return case


def time_zone(rng: Rng) -> Case:
    """Any time zone, also one that is none."""
    with put(pick(rng, QUICK)) as case, pytest.MonkeyPatch.context() as patch:
        zones = ("Pacific/Kiritimati", "America/St_Johns", "XYZ+23:59:59", "", "no/zone", ":" * 300)
        patch.setenv("TZ", pick(rng, zones))
        time.tzset()
        case.here("--replace")
        patch.undo()
        time.tzset()
        case.in_order((0,))
        case.whole(old=False, new=True)
        return case


def ignored_signals(rng: Rng) -> Case:
    """Started with interrupts or hang-ups ignored, as ``nohup ... &`` has it: it goes on."""
    with put(pick(rng, ["run --record", *QUICK])) as case:
        number = pick(rng, [signal.SIGINT, signal.SIGHUP])
        with case.started("--replace", before=lambda: signal.signal(number, signal.SIG_IGN)) as one:
            for _ in range(int(rng.integers(1, 9))):
                time.sleep(float(rng.uniform(0.0, 0.4)))
                one.send_signal(number)
        case.in_order((0,))
        case.whole(old=False, new=True)
        case.tidy()
        return case


KINDS: dict[str, Callable[[Rng], Case]] = {
    "no terminal, closed streams": no_terminal,
    "closed pipe": closed_pipe,
    "full standard output": full_output,
    "home that cannot be written": no_home,
    "decimal comma": decimal_comma,
    "time zone": time_zone,
    "interrupts or hang-ups ignored": ignored_signals,
}
