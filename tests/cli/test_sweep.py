"""``packsim sweep``: a table, CSV, JSON and charts that can be read, over every knob."""

from __future__ import annotations

import csv
import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.answers import answer_stage
from packsim.report.charts.sweep_chart import SWEEP_CHARTS
from packsim.scenario import load_scenario
from packsim.sweep import KNOBS

Run = Callable[..., Any]

RANGES = {
    "clear-width": ("1366 mm", "1396 mm"),
    "wire-height": ("80 mm", "130 mm"),
    "tension": ("50 N", "900 N"),
    "shift": ("-20 mm", "20 mm"),
    "fill": ("0.9", "1"),
    "water-in-dome": ("0", "1"),
    "pressure": ("0.2", "2.5"),
    "pressure-above": ("0.5 bar", "4 bar"),
    "pressure-below": ("0.5 bar", "4 bar"),
    "hold-down": ("125 mm", "160 mm"),
    "pack-pressure": ("0 N/m", "60 N/m"),
    "temperature": ("20 degC", "90 degC"),
    "nozzle-pitch": ("55 mm", "62 mm"),
    "nozzle-count": ("20", "26"),
    "stand-off-above": ("250 mm", "350 mm"),
    "stand-off-below": ("100 mm", "200 mm"),
    "spray-angle-above": ("40 deg", "80 deg"),
    "spray-angle-below": ("40 deg", "80 deg"),
    "station-above": ("-50 mm", "50 mm"),
    "station-below": ("-50 mm", "50 mm"),
    "stagger-above": ("-20 mm", "40 mm"),
    "stagger-below": ("-20 mm", "40 mm"),
}


@pytest.fixture
def sweep(packsim: Run, root: Path) -> Run:
    def run(over: str, *more: str, steps: int = 3) -> Any:
        low, high = RANGES[over]
        given = ["--over", over, f"--lowest={low}", "--highest", high, "--steps", str(steps)]
        scenario = str(root / "scenarios/swing_line.toml")
        return packsim("sweep", scenario, *given, "--stage", "pre-wash", *more)

    return run


@pytest.mark.parametrize("over", [knob.name for knob in KNOBS])
def test_every_knob_gives_the_same_numbers_as_csv_and_json(
    sweep: Run, over: str, tmp_path: Path
) -> None:
    path = tmp_path / "out.csv"
    result = sweep(over, "--csv", str(path), "--json", "-")
    assert (result.returncode, result.stderr) == (0, "")
    data = json.loads(result.stdout)
    with path.open(encoding="utf-8-sig", newline="") as file:
        _, head, *rows = list(csv.reader(file))
    assert head[:3] == ["over", "unit", "value"]
    assert rows[0][0] == over
    assert len(rows) == len(data["rows"]) == 3
    for row, plain in zip(rows, data["rows"], strict=True):
        low, high = plain.pop("tips_per_million_interval")
        plain |= {"tips_per_million_low": low, "tips_per_million_high": high}
        for key, cell in zip(head[2:], row[2:], strict=True):
            if isinstance(plain[key], float):
                assert float(cell) == pytest.approx(plain[key], rel=1e-4)
            elif plain[key] is None:
                assert cell == ""


@pytest.mark.parametrize("show", [show for show in SWEEP_CHARTS if show != "tips_per_million"])
def test_every_chart_is_drawn_with_its_words(sweep: Run, show: str, tmp_path: Path) -> None:
    path = tmp_path / "out.svg"
    result = sweep("hold-down", "--chart", str(path), "--show", show)
    assert (result.returncode, result.stderr) == (0, "")
    words = {
        "tip_index": "tip index",
        "slack_mm": "slack [mm]",
        "hold_margin": "spray tip margin",
        "nozzle_offset_mm": "lane-to-nozzle offset",
        "hold_down_clearance_mm": "hold-down above the cans",
    }
    text = path.read_text(encoding="utf-8")
    assert words[show] in text
    assert "height of the hold-down mat" in text


def test_an_infeed_that_falls_behind_crosses_one(sweep: Run, root: Path) -> None:
    """Below 23/24 of the cans of 24 lanes, 23 lanes carry them, with a lane's width of slack more.

    Lanes that stay 24 nest deeper as they part. With the domes empty that makes the safe slack s
    first: 24 lanes then are 1388.5 - s wide, their lines (1388.5 - s - 66.09) / 23 apart, cans of
    a line twice the root of 66.09^2 less the square of that: 67.91 mm, a fill of 0.973.
    """
    result = sweep("fill", steps=41)
    match = re.search(r"The tip index crosses 1 at (0\.9\d+)", result.stdout)
    assert match is not None
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    safe_mm = answer_stage(case, "pre-wash", "211 body").tipping.safe.slack_mm
    apart_mm = 2.0 * math.sqrt(66.09**2 - ((1388.5 - safe_mm - 66.09) / 23.0) ** 2)
    assert float(match[1]) == pytest.approx(66.09 / apart_mm, abs=0.0005)
    assert float(match[1]) > 23.0 / 24.0


def test_a_shift_of_the_pack_changes_the_margin(packsim: Run, root: Path, tmp_path: Path) -> None:
    """Cones too narrow to share a can hold it best when they meet its centre, either way alike."""
    text = (root / "scenarios/swing_line.toml").read_text(encoding="utf-8")
    narrow = tmp_path / "narrow.toml"
    for wide in ("60 deg", "50 deg"):
        text = text.replace(f'angle = "{wide}"', 'angle = "30 deg"')
    narrow.write_text(text, encoding="utf-8")
    given = ["--over", "shift", "--lowest=-28 mm", "--highest", "28 mm", "--steps", "3"]
    result = packsim("sweep", str(narrow), *given, "--stage", "wash", "--json", "-")
    left, middle, right = (row["hold_margin"] for row in json.loads(result.stdout)["rows"])
    assert left == pytest.approx(right, abs=1e-6)
    assert middle > left + 0.03


def test_the_table_says_units_and_lanes_and_that_the_recommended_width_is_not_safe(
    packsim: Run, root: Path
) -> None:
    file = str(root / "scenarios/swing_line.toml")
    given = ["--stage", "wash", "--size", "sleek body", "--steps", "2"]
    widths = ["--over", "clear-width", "--lowest", "1389 mm", "--highest", "1419 mm"]
    shown = packsim("sweep", file, *given, *widths).stdout
    assert "(lengths in mm)" in shown
    assert re.search(r"^ 1389 +27 +.*\n 1419 +28 ", shown, re.MULTILINE)
    assert re.search(r"\d mL .*\d mL ", shown)
    said = "Recommended: 1419.0 mm for 28 lanes, the wires set for it; not safe in the worst"
    assert said in " ".join(shown.split())
    alike = packsim("sweep", file, *given, "--over", "pressure", "--lowest=1", "--highest=2").stdout
    assert "lanes" not in alike
    assert "Recommended" not in alike
