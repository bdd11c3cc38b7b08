"""Saving from the viewer: scenario files and pictures under names that are not yet taken."""

from pathlib import Path

from packsim.errors import InputError
from packsim.report.files.write import write_text
from packsim.scenario.write import scenario_to_toml
from viewer.line.loaded import LoadedLine

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
    write_text(path, scenario_to_toml(loaded.scenario))
    return path
