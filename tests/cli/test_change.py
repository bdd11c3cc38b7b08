"""``packsim change`` and ``packsim oven-heat`` from the shell."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.scenario import load_scenario

Run = Callable[..., Any]


@pytest.fixture
def height_only(root: Path) -> str:
    return str(root / "scenarios" / "height_only.toml")


@pytest.fixture
def lane_file(root: Path) -> str:
    return str(root / "scenarios" / "oven_lane.toml")


def refused(result: Any) -> str:
    assert result.returncode == 2, result.stderr
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    (line,) = result.stderr.strip().splitlines()
    return line


def test_every_output_of_one_change(packsim: Run, height_only: str, tmp_path: Path) -> None:
    files = {key: str(tmp_path / key) for key in ("csv", "html", "json", "save")}
    options = [part for key, path in files.items() for part in (f"--{key}", path)]
    result = packsim("change", height_only, "--from", "12 oz", "--to", "16 oz", *options)
    assert result.returncode == 0, result.stderr
    assert "12 oz → 16 oz" in result.stdout
    assert "hold-down" in result.stdout
    assert "<h1>12 oz → 16 oz</h1>" in Path(files["html"]).read_text(encoding="utf-8")
    data = json.loads(Path(files["json"]).read_text(encoding="utf-8"))
    _, _, lines = Path(files["csv"]).read_text(encoding="utf-8").partition("\n")
    table = list(csv.DictReader(io.StringIO(lines)))
    brackets = [move for stage in data["stages"] for move in stage["moves"]]
    assert len([row for row in table if row["item"] == "bracket"]) == len(brackets)
    # one diameter: the guides stay, and with them the rate at the same speed; wires and hold-down
    # move
    for stage in data["stages"]:
        moves = {move["direction"] for move in stage["moves"]}
        assert moves == {"stay"}, stage["stage"]
        assert {move["move_mm"] for move in stage["moves"]} == {0.0}
    assert data["speed_now_mm_per_s"] == pytest.approx(data["speed_new_mm_per_s"])
    after = load_scenario(files["save"])
    assert after.set_for == "16 oz"
    assert all(stage.setting_for("12 oz") for stage in after.stages)
    back = packsim("change", files["save"], "--to", "12 oz")
    assert back.returncode == 0, back.stderr
    assert "setting on record" in back.stdout


def test_files_are_not_overwritten_unasked(packsim: Run, height_only: str, tmp_path: Path) -> None:
    out = tmp_path / "moves.csv"
    out.write_text("mine", encoding="utf-8")
    command = ("change", height_only, "--to", "16 oz", "--csv", str(out))
    assert "--replace" in refused(packsim(*command))
    assert out.read_text(encoding="utf-8") == "mine"
    assert packsim(*command, "--replace").returncode == 0
    assert out.read_text(encoding="utf-8").splitlines()[1].startswith("from_size,")


def test_stdout_is_for_one(packsim: Run, height_only: str) -> None:
    found = packsim("change", height_only, "--to", "16 oz", "--json", "-")
    assert json.loads(found.stdout)["to_size"] == "16 oz"
    command = ("change", height_only, "--to", "16 oz", "--json", "-", "--csv", "-")
    assert "different place" in refused(packsim(*command))


@pytest.mark.parametrize(
    ("options", "key"),
    [
        (("--to", "18 oz"), "--to"),
        (("--from", "=1", "--to", "16 oz"), "--from"),
        (("--to", ""), "--to"),
        (("--to", "16 oz", "--step", "1/32"), "--step"),
        (("--to", "16 oz", "--step", "-1 mm"), "--step"),
        (("--to", "16 oz", "--step", "3 kg"), "--step"),
    ],
)
def test_bad_options_end_with_two(
    packsim: Run, height_only: str, options: tuple[str, ...], key: str
) -> None:
    line = refused(packsim("change", height_only, *options))
    assert key in line
    assert "needs" in line


def test_usage_errors_end_with_two(packsim: Run, height_only: str) -> None:
    assert packsim("change", height_only).returncode == 2
    assert packsim("change", height_only, "--to", "16 oz", "--keep", "both").returncode == 2


def test_a_rule_in_inches_gives_whole_steps(packsim: Run, root: Path) -> None:
    line = str(root / "scenarios" / "swing_line.toml")
    found = packsim("change", line, "--to", "sleek body", "--step", "1/16 in", "--json", "-")
    assert found.returncode == 0, found.stderr
    stages = json.loads(found.stdout)["stages"]
    assert sum(stage["gauge"] for stage in stages) < len(stages) / 2
    for stage in stages:
        for move in [] if stage["gauge"] else stage["moves"]:
            steps = move["new_mm"] / 1.5875
            assert move["direction"] == "stay" or abs(steps - round(steps)) < 1e-6


def test_heat_of_another_mat(packsim: Run, lane_file: str) -> None:
    command = (
        "oven-heat",
        lane_file,
        "--mat-mass",
        "9.2 kg/m^2",
        "--mat-specific-heat",
        "500 J/kg/K",
    )
    shown = packsim(*command, "--name", "steel [mesh]")
    assert shown.returncode == 0, shown.stderr
    assert "steel [mesh]" in shown.stdout
    first = json.loads(packsim(*command, "--json", "-").stdout)["answers"][0]
    # heat-up, 25 to 120 °C on 1.3 m at 7 m/min: 0.6 · 880 against 9.2 · 500 J/(m² K)
    assert 60.0 * first["now"]["mat_kW"] == pytest.approx(0.6 * 880 * 1.3 * 7.0 * 95.0 / 1000.0)
    assert 60.0 * first["other"]["mat_kW"] == pytest.approx(9.2 * 500 * 1.3 * 7.0 * 95.0 / 1000.0)
    assert "--mat-mass" in refused(
        packsim("oven-heat", lane_file, "--mat-mass", "9.2", *command[4:])
    )


def test_heat_in_inch_mode_is_the_same_heat_in_btu(known: Run, lane_file: str) -> None:
    asked = ("oven-heat", lane_file, "--mat-mass", "2 lb/ft^2", "--mat-specific-heat", "500 J/kg/K")
    metric, inch = known(*asked).stdout, known(*asked, "--units", "inch", "--entry", "77").stdout
    assert "kJ per minute" in metric
    assert "°C" in metric
    assert "25 °C" in metric
    assert "77 °F (as given)" in inch
    assert "kJ" not in inch
    assert "°C" not in inch

    def sums(text: str) -> list[float]:
        found = re.findall(r"([\d,]+) (?:kJ|BTU) per minute now, ([\d,]+) with", text)
        return [float(value.replace(",", "")) for pair in found for value in pair]

    # the International Table unit, 1.055 056 kJ (ISO 80000-5)
    assert sums(metric)
    assert [value * 1.055056 for value in sums(inch)] == pytest.approx(sums(metric), abs=1.0)


def test_no_oven_no_heat(packsim: Run, height_only: str) -> None:
    command = ("--mat-mass", "1 kg/m^2", "--mat-specific-heat", "500 J/kg/K")
    shown = packsim("oven-heat", height_only, *command)
    assert shown.returncode == 0
    assert "no heat to compare" in " ".join(shown.stdout.split())


FITTED = """
[kicks.flood]
energy = "0.11 mJ"
low = "0.10 mJ"
high = "0.12 mJ"
trial = "night trial"
"""


@pytest.mark.parametrize(
    "command",
    [
        ("change", "--to", "16 oz", "--json", "-"),
        (
            "sweep",
            "--over",
            "clear-width",
            "--lowest",
            "1395 mm",
            "--highest",
            "1397 mm",
            "--steps",
            "2",
        ),
    ],
)
def test_fitted_kicks_name_their_trial(
    packsim: Run, command: tuple[str, ...], height_only: str, tmp_path: Path
) -> None:
    fitted = tmp_path / "fitted.toml"
    fitted.write_text(FITTED, encoding="utf-8")
    name, *options = command
    bare = packsim(name, height_only, *options)
    told = packsim(name, height_only, *options, "--fitted", str(fitted))
    assert told.returncode == 0, told.stderr
    assert "night trial" in told.stdout
    assert "night trial" not in bare.stdout


def test_inches_are_set_to_whole_marks_unasked(packsim: Run, root: Path) -> None:
    swing = str(root / "scenarios" / "swing_line.toml")
    asked = ("change", swing, "--to", "sleek body", "--units", "inch", "--json", "-")
    assert json.loads(packsim(*asked).stdout)["step_mm"] == pytest.approx(25.4 / 32.0)


def test_the_same_mat_saves_nothing(packsim: Run, lane_file: str) -> None:
    given = ("--mat-mass", "0.6 kg/m^2", "--mat-specific-heat", "880 J/kg/K")
    result = packsim("oven-heat", lane_file, *given)
    assert result.returncode == 0, result.stderr
    assert "with either mat" in result.stdout


def test_all_that_cannot_be_read_is_complained_of_at_once(packsim: Run, root: Path) -> None:
    file = str(root / "scenarios/first_look.toml")
    found = packsim("change", file, "--from", "x", "--to", "y", "--step", "z")
    assert found.returncode == 2
    for option, got in (("--step", "z"), ("--from", "x"), ("--to", "y")):
        assert f"{option}: got '{got}'; needs" in found.stderr
