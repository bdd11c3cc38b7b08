"""The run command: counts, files, comparison, repeatability, interrupt."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from packsim.passage.store import load_record

LINE = """
schema = 1
name = "short line"
about = "Invented: rough kicks, so that a short run counts something."
[mat]
width = "700 mm"
speed = "12 m/min"
[[sizes]]
name = "tall"
diameter = "58 mm"
height = "157 mm"
[guides]
wire_heights = ["40 mm", "100 mm"]
tension = "600 N"
wire_mass = "50 g/m"
wire_stiffness = "1.3 MN"
[[stages]]
name = "wash"
duty = "flood"
length = "2 m"
clear_width = "440 mm"
fill = 0.99
[stages.kicks]
energy = "0.5 mJ"
rate = "3 1/s"
drift = "3 mm/s"
"""


@pytest.fixture
def line(tmp_path: Path) -> Path:
    file = tmp_path / "line.toml"
    file.write_text(LINE, encoding="utf-8")
    return file


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "packsim", "run", *arguments],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def data(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json", "-")
    assert result.returncode == 0, result.stderr
    parsed: dict[str, Any] = json.loads(result.stdout)
    return parsed


def test_a_loose_line_tips_and_a_tight_one_does_not(line: Path) -> None:
    # eight lanes of 58 mm need 58 (1 + 7 √3/2) = 409.6 mm: 440 mm leaves 30 mm, more than a wire at
    # 100 mm can take with a pool in the dome, z tan α = 100 tan 14° = 25 mm
    found = data(
        str(line), "--cans", "600", "--repeats", "1", "--guides", "as-set", "--guides", "411 mm"
    )
    loose, tight = found["cases"]
    assert loose["tipped_per_million"] > 0
    assert tight["tipped_per_million"] == 0
    assert loose["interval_per_million"][0] > tight["interval_per_million"][1]
    assert loose["cans"] == tight["cans"] == 600


def test_the_result_does_not_depend_on_workers(line: Path) -> None:
    asked = (str(line), "--cans", "200", "--repeats", "2", "--seed", "5")
    assert data(*asked) == data(*asked, "--workers", "2")


def test_files_are_written_and_the_record_replays(line: Path, tmp_path: Path) -> None:
    names = ("c.svg", "p.png", "r.npz", "h.svg", "v.svg")
    chart, profile, record, places, voids = (tmp_path / name for name in names)
    result = run(
        str(line),
        "--cans",
        "200",
        "--repeats",
        "1",
        "--chart",
        str(chart),
        "--profile",
        str(profile),
        "--places",
        str(places),
        "--voids",
        str(voids),
        "--record",
        str(record),
    )
    assert result.returncode == 0, result.stderr
    assert "<svg" in chart.read_text(encoding="utf-8")
    assert profile.read_bytes().startswith(b"\x89PNG")
    assert "left edge" in places.read_text(encoding="utf-8")
    assert "void between the guides" in voids.read_text(encoding="utf-8")
    kept = load_record(record)
    assert kept.cans_in == kept.cans_out + kept.on_mat
    assert kept.size == "tall"
    assert int(np.sum(kept.tipped)) == len(kept.events)
    again = run(str(line), "--cans", "200", "--record", str(record))
    assert again.returncode == 2
    assert "--replace" in again.stderr


def test_bad_options_end_with_two(line: Path) -> None:
    for extra in (
        ("--cans", "0"),
        ("--repeats", "-1"),
        ("--guides", "wide"),
        ("--size", "tin"),
        ("--workers", "0"),
        ("--chart", "x.bmp"),
        ("--slice", "1 m"),  # beside --cans
        ("--fitted", "nowhere.toml"),
    ):
        result = run(str(line), "--cans", "50", "--repeats", "1", *extra)
        assert result.returncode == 2, (extra, result.stderr)
        assert "Traceback" not in result.stderr


def test_a_slice_is_carried_through_instead_of_a_number_of_cans(line: Path) -> None:
    # eight lanes of 58 mm cans: 1 m of slice holds at least 8 × 1000/58 / 1.1 of them
    found = data(str(line), "--slice", "1 m", "--repeats", "2", "--workers", "2")["cases"][0]
    assert found["runs"] == 2
    assert 2 * 125 <= found["cans"] <= 2 * 145
    assert sum(map(sum, found["kicks"])) > 0
    assert data(str(line), "--slice", "1 m", "--repeats", "2")["cases"][0] == found
    short = run(str(line), "--slice", "10 mm")
    assert short.returncode == 2
    assert "length_mm" in short.stderr


def test_fitted_kicks_take_the_place_of_the_assumed_ones(line: Path, tmp_path: Path) -> None:
    gentle = tmp_path / "fitted.toml"
    gentle.write_text(
        '[kicks.flood]\nenergy = "0.001 mJ"\nrate = "1 1/s"\ntrial = "made up here"\n',
        encoding="utf-8",
    )
    asked = (str(line), "--cans", "300", "--repeats", "1")
    rough, calm = data(*asked), data(*asked, "--fitted", str(gentle))
    assert rough["cases"][0]["tipped_per_million"] > 0
    assert calm["cases"][0]["tipped_per_million"] == 0


@pytest.mark.skipif(os.name != "posix", reason="sends an interrupt as a terminal would")
def test_an_interrupt_keeps_what_is_done_and_says_so(line: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "packsim", "run", str(line), "--cans", "300", "--repeats", "400"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(8.0)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=120)
    assert "Traceback" not in err
    assert "interrupted" in out


@pytest.mark.skipif(os.name != "posix", reason="sends an interrupt as a terminal would")
@pytest.mark.parametrize("after_s", [2.0, 6.0])
def test_an_interrupt_at_the_terminal_reaches_every_worker_and_leaves_none(
    line: Path, after_s: float
) -> None:
    """The terminal sends it to the whole group: while workers still start, and while they work."""
    asked = [str(line), "--cans", "300", "--repeats", "400", "--workers", "2"]
    process = subprocess.Popen(
        [sys.executable, "-m", "packsim", "run", *asked],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    time.sleep(after_s)
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert "Traceback" not in err
    assert "interrupted" in out
    for _ in range(50):
        try:
            os.killpg(process.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.1)
    pytest.fail("a worker outlived the command")
