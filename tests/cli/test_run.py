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
    chart, profile, record = (tmp_path / name for name in ("c.svg", "p.png", "r.npz"))
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
        "--record",
        str(record),
    )
    assert result.returncode == 0, result.stderr
    assert "<svg" in chart.read_text(encoding="utf-8")
    assert profile.read_bytes().startswith(b"\x89PNG")
    kept = load_record(record)
    assert kept.balanced
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
    ):
        result = run(str(line), "--cans", "50", "--repeats", "1", *extra)
        assert result.returncode == 2, (extra, result.stderr)
        assert "Traceback" not in result.stderr


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
