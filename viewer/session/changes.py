"""Changes of the line that is watched, the way back from them, and keeping it in a file."""

from dataclasses import replace
from pathlib import Path

from packsim.errors import InputError
from packsim.scenario.write import scenario_to_toml
from packsim.size_change import apply_change, plan_change
from packsim.write import write_bytes
from viewer.line import LoadedLine
from viewer.session.adjust import DIALS, turned
from viewer.session.session import Session


def turn(s: Session, steps: int) -> None:
    """Turn the chosen dial by some steps."""
    line, dial = s.pack.source.loaded, DIALS[s.dial]
    change(s, turned(line, dial, steps, s.scope, s.part, display=s.display))


def change(s: Session, loaded: LoadedLine) -> None:
    """Change the line of the active pack, so that it can be undone."""
    pack, before = s.pack, s.pack.source.loaded
    if loaded != before:
        s.change(loaded)
        pack.done.append(before)
        pack.undone.clear()


def go_back(s: Session, taken: list[LoadedLine], given: list[LoadedLine], what: str) -> None:
    """Take a line from those to go back to, or on to again, and leave the present one for it."""
    if not taken:
        s.say(f"nothing to {what}")
        return
    now = s.pack.source.loaded
    s.change(taken[-1])
    given.append(now)
    taken.pop()


def reset(s: Session, _argument: int) -> None:
    """Set the line as the file has it."""
    change(s, s.pack.first)
    s.say("as in the file")


def recommended(s: Session, _argument: int) -> None:
    """Set the line as `packsim change` would for the size that is shown."""
    loaded = s.pack.source.loaded
    line = loaded.scenario
    best = plan_change(line, line.set_for, loaded.size)
    change(s, replace(loaded, scenario=apply_change(line, best)))
    s.say(f"as recommended for the {loaded.size}: {best.setting.reason}")


MAX_NUMBER = 9999
"""Highest number tried for a free name."""


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """Return the first of stem-1, stem-2, … in a folder that does not exist yet."""
    for number in range(1, MAX_NUMBER + 1):
        path = folder / f"{stem}-{number}{suffix}"
        if not path.exists():
            return path
    raise InputError("output", folder, f"a folder with fewer than {MAX_NUMBER} files {stem}-N")


def save_line(loaded: LoadedLine, folder: Path, stem: str) -> Path:
    """Write a line as a scenario file under a free name and return it; none is ever replaced.

    Raises `InputError` if the folder cannot be written.
    """
    path = free_name(folder, f"{stem}-changed", ".toml")
    write_bytes(path, scenario_to_toml(loaded.scenario).encode())
    return path
