"""The shortest run calls every kernel that a run calls, so that no worker reads or compiles one."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ASKED = """
import sys
from packsim.compiled import KERNELS
from packsim.counts.shortest_run import run_shortest
from packsim.passage.run import run_passage
from packsim.passage.track import loaded_track
from packsim.scenario import load_scenario
def there():
    return {one.__name__: len(fast.overloads) for one, fast in KERNELS.items() if fast is not None}
run_shortest()
before, line = there(), load_scenario(sys.argv[1])
for can in line.sizes:
    track = loaded_track(line, can.name, 0.2)
    for how in ({"slice_mm": 600.0, "time_s": 20.0}, {"cans": 100}):
        record = run_passage(track, seed=1, keep_frames=False, **how)
        assert record.kicks.any()
# the last is asked where guides push cans farther in a step than neighbours are listed for
print(len(before), set(there().items()) - set(before.items()) - {("_worst", 1)})
"""


@pytest.mark.parametrize(
    "name",
    [
        "first_look",
        pytest.param("swing_line", marks=pytest.mark.all),
        pytest.param("imperial_line", marks=pytest.mark.all),
    ],
)
def test_every_kernel_of_a_run_is_there_after_the_shortest(root: Path, name: str) -> None:
    words = [sys.executable, "-c", ASKED, str(root / "scenarios" / f"{name}.toml")]
    done = subprocess.run(words, capture_output=True, text=True, check=True, cwd=root)
    number, missing = done.stdout.split(maxsplit=1)
    assert int(number) > 10
    assert missing.strip() == "set()"
