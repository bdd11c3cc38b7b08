"""The catalogue on the command line."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.catalogue import can_size, catalogue_sizes

Run = Callable[..., Any]


@pytest.fixture
def shown(packsim: Run) -> str:
    result = packsim("sizes")
    assert (result.returncode, result.stderr) == (0, "")
    return result.stdout


def test_every_size_with_its_source_and_grade(shown: str) -> None:
    rows = catalogue_sizes()
    assert rows
    for row in rows:
        assert len(re.findall(rf"^ *{row.id}\b", shown, re.MULTILINE)) == 2  # table and source
        assert f"{row.id}: grade {row.grade};" in shown
    assert "no sign: read in the source;  *: computed;  ?: from memory" in shown
    assert "…" not in shown


def test_values_carry_their_mark(shown: str) -> None:
    row = next(r for r in catalogue_sizes() if r.id == "us_12oz_std")
    line = next(text for text in shown.splitlines() if row.id in text)
    sign = {"read": "", "computed": "*", "memory": "?"}[row.diameter_mm.mark]
    assert f" {row.diameter_mm.value:.2f}{sign} " in line
    # mass and balance angles follow from the body model
    assert re.search(r"\d+\.\d\* +\d+\.\d°\* +\d+\.\d°\*", line)


def test_a_full_dome_costs_balance(shown: str) -> None:
    """Trade fact, common practice, no source: the pool on top makes every can less stable."""
    angles = re.findall(r"(\d+\.\d)°\* +(\d+\.\d)°\*", shown)
    assert len(angles) == len(catalogue_sizes())
    assert all(float(full) < float(dry) for dry, full in angles)


def test_inches(packsim: Run) -> None:
    result = packsim("sizes", "--units", "inch")
    assert "lengths in in" in result.stdout
    row = next(r for r in catalogue_sizes() if r.id == "us_12oz_std")
    assert f"{row.diameter_mm.value / 25.4:.3f}" in result.stdout


def test_json_holds_what_the_library_says(packsim: Run, tmp_path: Path) -> None:
    result = packsim("sizes", "--json", "-")
    assert (result.returncode, result.stderr) == (0, "")
    data = json.loads(result.stdout)
    assert data["schema"] == 2
    assert [size["id"] for size in data["sizes"]] == [row.id for row in catalogue_sizes()]
    for size in data["sizes"]:
        can = can_size(size["id"])
        assert size["diameter_mm"]["value"] == can.diameter_mm
        assert size["trimmed_height_mm"]["value"] == can.height_mm
        assert size["mass_kg"] == pytest.approx(can.mass_kg)
        assert size["diameter_mm"]["mark"] in ("read", "computed", "memory")
        assert size["grade"]
        assert size["source"]
    out = tmp_path / "sizes.json"
    assert packsim("sizes", "--json", str(out)).returncode == 0
    assert json.loads(out.read_text(encoding="utf-8")) == data
    again = packsim("sizes", "--json", str(out))
    assert again.returncode == 2
    assert again.stderr.startswith("packsim sizes: --json: ")
    assert len(again.stderr.splitlines()) == 1
    assert again.stdout == ""


def test_the_version_is_told(packsim: Run) -> None:
    result = packsim("--version")
    assert result.returncode == 0
    assert re.fullmatch(r"packsim \S+\n", result.stdout)
