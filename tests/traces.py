"""How many files a question walks through: ``python -m tests.traces``.

A person who follows an answer has to open every file it passes. This counts them, so that a walk
that grows is seen: `packsim` runs in this process, and every function of it that is called is
noted. ``--files`` lists, for each walk, the files with the functions called and their lines.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import io
import os
import pkgutil
import sys
from collections.abc import Callable
from inspect import CO_OPTIMIZED
from pathlib import Path
from types import CodeType, FrameType
from typing import Any, Final

ROOT: Final = Path(__file__).resolve().parents[1]
PACKAGE: Final = ROOT / "packsim"
LINE: Final = str(ROOT / "scenarios" / "swing_line.toml")
ODD_MM: Final = 66.137
"""A diameter no other length of the traced scenario has, so that it can be followed."""

Walk = dict[str, dict[str, int]]
"""For each file, the functions called in it and the length of each in lines."""


def _function(code: CodeType) -> bool:
    """Whether code is a function of packsim; bodies of modules and classes are not called."""
    return bool(code.co_flags & CO_OPTIMIZED) and Path(code.co_filename).is_relative_to(PACKAGE)


def _forget() -> None:
    """Clear what functions of packsim keep of calls before, so that the walk goes all the way."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "packsim":
            for one in vars(module).values():
                getattr(one, "cache_clear", lambda: None)()


def walk(act: Callable[[], object], through: Callable[[FrameType], bool] | None = None) -> Walk:
    """Note every function of packsim that is called while something is done.

    Parameters
    ----------
    act : callable
        What to do.
    through : callable, optional
        Whether a call counts, from its frame as it begins; without it every call counts.

    Returns
    -------
    dict
        Functions and their lines, by file (its path within ``packsim``).
    """
    known: dict[CodeType, bool] = {}
    met: set[CodeType] = set()
    _forget()

    def watch(frame: FrameType, event: str, _: Any) -> None:
        code = frame.f_code
        if event != "call" or code in met:
            return
        if code not in known:
            known[code] = _function(code)
        if known[code] and (through is None or through(frame)):
            met.add(code)

    before = sys.getprofile()
    sys.setprofile(watch)
    try:
        act()
    finally:
        sys.setprofile(before)
    found: Walk = {}
    for code in met:
        file = Path(code.co_filename).relative_to(PACKAGE).as_posix()
        lines = {line for *_, line in code.co_lines() if line is not None}
        found.setdefault(file, {})[code.co_qualname] = max(lines) - min(lines) + 1
    return found


def command(*words: str) -> Callable[[], object]:
    """Return a command of ``packsim`` to be run in this process, its output thrown away."""

    def act() -> None:
        from packsim.cli.commands import ended

        with contextlib.redirect_stdout(io.StringIO()):
            code = ended(words)
        if code != 0:
            msg = f"packsim {' '.join(words)} ended with {code}"
            raise RuntimeError(msg)

    return act


def diameter() -> Walk:
    """Follow a can's diameter through the answer of one stage.

    A function is passed when it gets the diameter itself, or a thing that carries it.
    """
    from packsim.answers import answer_stage
    from packsim.scenario import parse_scenario

    text = (ROOT / "scenarios" / "first_look.toml").read_text(encoding="utf-8")
    key = 'catalogue = "us_12oz_std"'
    if key not in text:
        msg = f"scenarios/first_look.toml has no {key}"
        raise ValueError(msg)
    scenario = parse_scenario(text.replace(key, f'{key}\ndiameter = "{ODD_MM} mm"'))
    size = scenario.sizes[0].name

    def carries(frame: FrameType) -> bool:
        return any(
            value == ODD_MM if type(value) is float else _diameter_mm(value) == ODD_MM
            for value in list(frame.f_locals.values())
        )

    def asked() -> object:
        found = answer_stage(scenario, scenario.stages[0].name, size)
        return found.tipping.verdict, found.window, found.lightest, found.alignment, found.flow

    return walk(asked, carries)


def _diameter_mm(thing: object) -> object:
    # a slot that is not filled yet, in the checks of an object being built, carries nothing
    return getattr(thing, "diameter_mm", None) if hasattr(thing, "diameter_mm") else None


def walks() -> dict[str, Walk]:
    """Take every walk, after loading every module, so that loading is no part of a walk."""
    import packsim

    for module in pkgutil.walk_packages(packsim.__path__, "packsim."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    both = ["--from", "211 body", "--to", "sleek body"]
    return {
        "diameter": diameter(),
        "why": walk(command("why", LINE, "--stage", "wash", "--size", "sleek body")),
        "change": walk(command("change", LINE, *both)),
        "study": walk(command("study", LINE)),
        "nozzles shift": walk(command("nozzles", "shift", LINE)),
    }


def main(arguments: list[str]) -> int:
    """Print one line for each walk, and its files when asked."""
    options = argparse.ArgumentParser(prog="python -m tests.traces", description=__doc__)
    options.add_argument("--files", action="store_true", help="list the files of each walk")
    asked = options.parse_args(arguments)
    os.environ["PACKSIM_CACHE"] = "off"  # what was kept before would shorten a walk
    for name, found in walks().items():
        print(f"{name:14} {sum(map(len, found.values())):4} functions {len(found):4} files")
        if asked.files:
            for file, functions in sorted(found.items()):
                total = len((PACKAGE / file).read_text(encoding="utf-8").splitlines())
                names = ", ".join(f"{name} {lines}" for name, lines in sorted(functions.items()))
                print(f"    {file:34} {total:4} lines; called: {names}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
