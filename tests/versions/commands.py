"""Every command that writes JSON, asked about a small line; what the file of it says."""

from __future__ import annotations

import os
import shlex
import subprocess
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
    f"oven-heat {_FIRST} --mat-mass 0.6kg/m^2 --mat-specific-heat '500 J/(kg K)'",
    "sizes",
    "measured scenarios/imperial_line.toml scenarios/imperial_visit.csv -o NEW.toml",
    f"nozzles check {_SWING} --csv",
    f"nozzles shift {_SWING} --csv",
    f"nozzles design {_SWING} --stage wash --side below --csv",
    f"trial plan {_SMALL}",
    f"trial fit {_SWING} {_TRIAL}",
    f"trial cost {_SMALL} --hours-per-year 5000 --guides as-set --guides 612mm",
)
"""As one types them, but for the names of the files to write; NEW is one that is not compared."""


def written(python: Path, number: int, folder: Path, program: str) -> dict[str, bytes]:
    """Run a command with an interpreter and return its files by ending, or how it failed.

    Which version of the program is installed there is no difference.
    """
    words = shlex.split(COMMANDS[number].replace("NEW", str(folder / "new")))
    files = {"json": folder / f"{number}.json"}
    if words[-1] == "--csv":
        words.pop()
        files["csv"] = folder / f"{number}.csv"
    for ending, file in files.items():
        words += [f"--{ending}", str(file)]
    ended = subprocess.run(
        [python, "-m", "packsim", *words],
        cwd=ROOT,
        env=surroundings(folder),
        capture_output=True,
        check=False,
    )
    if ended.returncode:
        said = (ended.stderr.decode(errors="replace").strip() or "nothing").splitlines()[-1]
        return {"json": f"exit code {ended.returncode}: {said}".encode()}
    return {
        ending: file.read_bytes().replace(program.encode(), b"packsim")
        for ending, file in files.items()
    }


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
