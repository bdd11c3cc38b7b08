"""Every command that writes JSON, asked about a small line; what the file of it says."""

from __future__ import annotations

import os
import shlex
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_FIRST = "scenarios/first_look.toml"
_SWING = "scenarios/swing_line.toml"
_SMALL = "scenarios/lessons/lines/teaching_line.toml"
_TRIAL = "scenarios/trials/swing_line_trial.toml"

COMMANDS = (
    f"study {_SWING}",
    f"study {_SMALL} --chance",
    f"why {_SWING}",
    f"doubt {_FIRST}",
    f"sweep {_SWING} --over clear-width --lowest 1380mm --highest 1400mm --steps 9 --csv",
    f"run {_SMALL} --cans 300 --workers 1",
    f"change {_SWING} --to 'sleek body' --csv",
    f"compare {_SWING} --size 'sleek body'",
    f"oven-heat {_FIRST} --mat-mass 0.6kg/m^2 --mat-specific-heat '500 J/(kg K)'",
    "sizes",
    "measured scenarios/imperial_line.toml scenarios/imperial_visit.csv -o NEW.toml",
    f"nozzles check {_SWING} --csv",
    f"nozzles shift {_SWING} --csv",
    f"nozzles design {_SWING} --stage wash --side below --csv",
    f"trial plan {_SMALL}",
    f"trial fit {_SWING} {_TRIAL}",
    "proposal scenarios/proposal/today.toml scenarios/proposal/changed.toml "
    "--figures scenarios/proposal/figures.toml",
)
"""As one types them, but for the names of the files to write; NEW is one that is not compared."""

NOT_COMPARED = {
    "look": "other versions of a JPEG decoder and of filters differ in the last bits of a pixel",
}
"""Commands that write JSON whose digits need not be the same from version to version, and why."""


def as_typed(number: int, folder: Path) -> tuple[list[str], dict[str, Path]]:
    """A command's words with the files it is to write, and these files by their ending."""
    words = shlex.split(COMMANDS[number].replace("NEW", str(folder / "new")))
    files = {"json": folder / f"{number}.json"}
    if words[-1] == "--csv":
        words.pop()
        files["csv"] = folder / f"{number}.csv"
    for ending, file in files.items():
        words += [f"--{ending}", str(file)]
    return words, files


def surroundings(folder: Path) -> dict[str, str]:
    """The environment of a command: this tree, and nothing that was kept from elsewhere."""
    return os.environ | {
        "PYTHONPATH": str(ROOT),
        "PACKSIM_CACHE": str(folder / "kept"),
        "MPLBACKEND": "Agg",
        "OMP_NUM_THREADS": "1",
    }


def first_difference(one: bytes, other: bytes) -> str:
    """The first line in which two files differ, both ways."""
    pairs = zip([*one.splitlines(), b"end"], [*other.splitlines(), b"end"], strict=False)
    for k, (a, b) in enumerate(pairs, start=1):
        if a != b:
            return f"line {k}: {a.decode().strip()[:150]} | {b.decode().strip()[:150]}"
    return "line ends"
