"""Every check in one command: ``python -m tests``.

Formatting, lint, types, import layers, then the usual tests with the doctests; with ``--all`` every
test, as the continuous checks run them. Other arguments are passed on to pytest, e.g.
``python -m tests -k voids``. Exit code 0 only when every step passed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
HERE = [sys.executable, "-m"]
LINT_IMPORTS = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())"

USUAL = "not all"
"""Marks of the usual tests."""


def steps(arguments: list[str]) -> list[tuple[str, list[str]]]:
    """The steps in the order of how fast they complain."""
    usual = ["-m", USUAL] if "--all" not in arguments else []
    others = [argument for argument in arguments if argument != "--all"]
    return [
        ("format", [*HERE, "ruff", "format", "--check", "."]),
        ("lint", [*HERE, "ruff", "check", "."]),
        ("types", [*HERE, "mypy"]),
        ("import layers", [sys.executable, "-c", LINT_IMPORTS]),
        ("tests", [*HERE, "pytest", "-q", "-n", "auto", "--dist", "worksteal", *usual, *others]),
    ]


def main(arguments: list[str]) -> int:
    """Run every step, go on after a failure, and name the ones that failed."""
    # one thread each, as there is a worker for each core; the many processes that tests start find
    # their modules read and translated
    environment = os.environ | {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy"}
    environment |= {"OMP_NUM_THREADS": "1", "PYTHONDONTWRITEBYTECODE": ""}
    failed = []
    for name, command in steps(arguments):
        print(f"== {name}", flush=True)
        started = time.perf_counter()
        code = subprocess.run(command, cwd=ROOT, env=environment, check=False).returncode
        print(
            f"== {name}: {'ok' if code == 0 else f'FAILED ({code})'}, "
            f"{time.perf_counter() - started:.0f} s",
            flush=True,
        )
        if code != 0:
            failed.append(name)
    print("all checks passed" if not failed else "failed: " + ", ".join(failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
