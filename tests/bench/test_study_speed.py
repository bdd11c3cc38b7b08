"""How long the main job takes, as a ratio to starting Python at all; run with -s to see it.

Not part of the normal run (see addopts): a loaded machine says nothing about the code.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from packsim import load_scenario, study_line

ROUNDS = 5
LESS_THAN_S = {"--help": 0.5, "study scenarios/swing_line.toml": 2.0}
"""What a person at a quiet machine should wait for at most."""


def least_s(arguments: Sequence[str], root: Path) -> float:
    """Least of a few runs of a whole process: the others waited for something else."""
    times = []
    for _ in range(ROUNDS):
        started = time.perf_counter()
        subprocess.run(
            [sys.executable, *arguments], cwd=root, check=True, stdout=subprocess.DEVNULL
        )
        times.append(time.perf_counter() - started)
    return min(times)


@pytest.mark.parametrize("command", LESS_THAN_S)
def test_whole_process(root: Path, command: str) -> None:
    start = least_s(["-c", "pass"], root)
    numpy = least_s(["-c", "import numpy"], root)
    took = least_s(["-m", "packsim", *command.split(" ")], root)
    print(
        f"\npacksim {command}: {took:.3f} s, {took / start:.1f} x an empty Python ({start:.3f} s), "
        f"{took / numpy:.1f} x importing numpy ({numpy:.3f} s); wanted {LESS_THAN_S[command]} s"
    )
    # a slow machine starts Python slowly too; far beyond this something heavy is being loaded
    assert took < max(LESS_THAN_S[command], 60.0 * start)


def test_time_goes_with_the_number_of_setups(root: Path) -> None:
    """Twice the stages take about twice as long: nothing looks at all pairs of stages."""
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    half = case.with_stages(case.stages[:4])
    times = []
    for line in (half, case):
        rounds = []
        for _ in range(ROUNDS):
            started = time.perf_counter()
            study_line(line)
            rounds.append(time.perf_counter() - started)
        times.append(min(rounds))
    print(
        f"\nstudy of {len(case.stages)} stages x {len(case.sizes)} sizes: {times[1]:.3f} s in "
        f"process, {1000.0 * times[1] / (len(case.stages) * len(case.sizes)):.1f} ms a answer"
    )
    assert times[1] < 4.0 * times[0]
