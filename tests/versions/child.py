"""One interpreter runs every command, in one process: FOLDER for the files they write.

Prints as JSON what is installed here and how each command ended: nothing where it went well.
"""

from __future__ import annotations

import contextlib
import io
import json
import platform
import sys
import traceback
from importlib.metadata import version
from pathlib import Path

from packsim.cli.commands import ended
from packsim.version import program_version
from tests.versions.commands import COMMANDS, as_typed

LIBRARIES = ("numpy", "scipy", "numba")
"""Those whose last digits are asked about."""


def how_it_ended(words: list[str]) -> str:
    """Run a command here; say nothing where it ended with 0, else the code and its last line."""
    said = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(said):
        try:
            code = ended(words)
        except Exception:
            traceback.print_exc()
            code = 1
    lines = said.getvalue().strip().splitlines() or ["nothing"]
    return f"exit code {code}: {lines[-1]}" if code else ""


def main(folder: Path) -> None:
    """Run them all and tell how that went."""
    parts = [f"{name} {version(name)}" for name in LIBRARIES]
    told = {
        "name": ", ".join([f"Python {platform.python_version()}", *parts]),
        "program": f"packsim {program_version()}",
        "ended": [how_it_ended(as_typed(number, folder)[0]) for number in range(len(COMMANDS))],
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
