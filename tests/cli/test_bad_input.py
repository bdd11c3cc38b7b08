"""Bad input gets one clear line and exit code 2, never a traceback, and nothing is written."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

GOOD = """
schema = 2
name = "bad input"
about = "Invented."
[mat]
width = "1000 mm"
speed = "5 m/min"
[[sizes]]
name = "can"
diameter = "66 mm"
height = "124 mm"
[guides]
wire_heights = ["40 mm", "90 mm"]
tension = "600 N"
wire_mass = "50 g/m"
wire_stiffness = "1.3 MN"
[[stages]]
name = "wash"
duty = "flood"
length = "2 m"
clear_width = "700 mm"
[stages.kicks]
energy = "0.05 mJ"
kicks_per_second = "2 1/s"
"""


def refused(result: Any) -> str:
    assert result.returncode == 2, result.stderr
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    return lines[0]


CASES = {
    "unknown key": ('name = "wash"', 'name = "wash"\ncolour = 3', "colour"),
    "no stage": (GOOD[GOOD.index("[[stages]]") :], "", "stages"),
    "negative size": ('"66 mm"', '"-66 mm"', "sizes[0].diameter"),
    "NaN size": ('"66 mm"', "nan", "sizes[0].diameter"),
    "width below one can": ('"700 mm"', '"60 mm"', "clear_width"),
    "wires above every can": ('["40 mm", "90 mm"]', '["140 mm", "150 mm"]', "wire_heights"),
    "wrong kind of unit": ('"5 m/min"', '"5 bar"', "mat.speed"),
    "unknown unit": ('"5 m/min"', '"5 furlongz"', "mat.speed"),
    "brackets out of order": (
        'clear_width = "700 mm"',
        'brackets = [{from_stage_start = "1 m", left = "100 mm", right = "800 mm"}, '
        '{from_stage_start = "0 m", left = "100 mm", right = "800 mm"}]',
        "brackets",
    ),
    "a billion cans": ('length = "2 m"', 'length = "5000 km"', ""),
}


@pytest.mark.parametrize("case", CASES)
def test_a_bad_scenario_is_refused_with_file_and_key(
    packsim: Run, case: str, tmp_path: Path
) -> None:
    old, new, key = CASES[case]
    assert old in GOOD
    file = tmp_path / "case.toml"
    file.write_text(GOOD.replace(old, new), encoding="utf-8")
    out = tmp_path / "out.json"
    line = refused(packsim("study", str(file), "--json", str(out)))
    assert str(file) in line
    assert key in line
    assert "got" in line
    assert "needs" in line
    assert not out.exists()


def test_the_good_scenario_is_answered(packsim: Run, tmp_path: Path) -> None:
    file = tmp_path / "good.toml"
    file.write_text(GOOD, encoding="utf-8")
    result = packsim("study", str(file))
    assert result.returncode == 0, result.stderr
    assert "wash" in result.stdout


def test_files_that_are_no_scenario_are_refused(packsim: Run, tmp_path: Path) -> None:
    not_toml = tmp_path / "not.toml"
    not_toml.write_text("name = = 3", encoding="utf-8")
    not_text = tmp_path / "bytes.toml"
    not_text.write_bytes(b'name = "\xff\xfe"')
    for path in (not_toml, not_text, tmp_path, tmp_path / "missing.toml"):
        assert str(path) in refused(packsim("study", str(path)))


@pytest.mark.skipif(getattr(os, "geteuid", lambda: 0)() == 0, reason="root may read every file")
def test_an_unreadable_file_is_refused(packsim: Run, tmp_path: Path) -> None:
    file = tmp_path / "closed.toml"
    file.write_text(GOOD, encoding="utf-8")
    file.chmod(0)
    assert str(file) in refused(packsim("study", str(file)))


def test_nothing_is_overwritten_without_being_asked(packsim: Run, tmp_path: Path) -> None:
    file = tmp_path / "good.toml"
    file.write_text(GOOD, encoding="utf-8")
    out = tmp_path / "out.json"
    out.write_text("keep me", encoding="utf-8")
    assert "--replace" in refused(packsim("study", str(file), "--json", str(out)))
    assert out.read_text(encoding="utf-8") == "keep me"
    assert packsim("study", str(file), "--json", str(out), "--replace").returncode == 0
    assert out.read_text(encoding="utf-8").startswith("{")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["good.toml", "out.json"]


@pytest.mark.parametrize(
    ("place", "needs"),
    [
        ("", "a file name, not a directory"),
        ("missing/out.json", "a folder that exists"),
        ("n" * 300 + ".json", "a possible file name"),
        ("good.toml/out.json", "a folder that exists"),
        ("pipe", "- for standard output"),
    ],
)
def test_a_place_that_cannot_be_written_is_refused_before_the_work(
    packsim: Run, tmp_path: Path, place: str, needs: str
) -> None:
    file = tmp_path / "good.toml"
    file.write_text(GOOD, encoding="utf-8")
    os.mkfifo(tmp_path / "pipe")
    before = sorted(p.name for p in tmp_path.iterdir())
    # a scenario that is not there: had the work begun, it would be what is complained of
    line = refused(
        packsim("study", str(tmp_path / "none.toml"), "--json", str(tmp_path / place), "--replace")
    )
    assert line.startswith("packsim study: --json: got ")
    assert needs in line
    assert sorted(p.name for p in tmp_path.iterdir()) == before
    assert file.read_text(encoding="utf-8") == GOOD


def test_a_scenario_name_no_file_can_have_is_refused(packsim: Run, tmp_path: Path) -> None:
    assert "nnnn" in refused(packsim("study", str(tmp_path / ("n" * 300))))
    assert "a device or a pipe" in refused(packsim("study", os.devnull))


def test_an_unknown_option_or_command_ends_with_two(packsim: Run) -> None:
    assert "study" in refused(packsim("studdy"))
