"""The sheet as text and as CSV: what is in it, and that names do no harm."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from packsim.line import Scenario, Stage
from packsim.report.cautions import CAUTIONS
from packsim.report.change_csv import change_csv
from packsim.report.change_rows import inch_step, printable
from packsim.report.change_sheet import change_sheet
from packsim.report.display import Display
from packsim.report.spreadsheet import safe_text
from packsim.size_change import SizeChange, plan_change
from packsim.size_change.plain import change_json

NASTY = [
    "=2+5",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    " =1",
    '="a";"b"',
    "[/bold] [red]x",
    "a,b\n",
]


def shown(change: SizeChange, units: str = "metric") -> str:
    console = Console(width=132, file=io.StringIO(), record=True, color_system=None)
    console.print(change_sheet(change, Display(units)))
    return console.export_text()


def rows(change: SizeChange, units: str = "metric") -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(change_csv(change, Display(units)), newline="")))


@pytest.fixture
def change(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> SizeChange:
    return plan_change(line(stage(hold_down_mm=124.0)), "big", "tall")


def test_the_sheet_has_what_a_crew_needs(change: SizeChange) -> None:
    text = shown(change)
    assert "big → tall" in text
    for caution in CAUTIONS:
        assert caution in " ".join(text.split())
    assert text.index("Before you start") < text.index("1  wash")
    assert "bracket at 2000.0 mm" in text
    # 205 mm from the edge now; the tall can's window is found in test_plan the same way
    for word in ("205.0", "hold-down", "144.0", "as found", "as left", "____", "Assumed", "Set by"):
        assert word in text


def test_inches_are_fractions(change: SizeChange) -> None:
    # the hold-down: 124 mm is 4.8819 in, 4 28.2/32; 144 mm is 5 21.4/32; 20 mm is 25.2/32
    text = shown(change, "inch")
    for word in ("4 7/8", "5 21/32", "25/32", "nearest 1/32 in"):
        assert word in text
    assert inch_step(change) == Fraction(1, 32)
    assert inch_step(replace(change, step_mm=25.4 / 16.0)) == Fraction(1, 16)
    assert inch_step(replace(change, step_mm=0.5)) == Fraction(1, 32)


def test_csv_has_every_move_as_numbers(change: SizeChange) -> None:
    table = rows(change)
    assert [row["item"] for row in table] == ["bracket"] * 4 + ["wire"] * 2 + ["hold-down"]
    for row, move in zip(table, change.moves, strict=False):
        assert (row["side"], row["direction"]) == (move.side, move.direction)
        assert float(row["now [mm]"]) == pytest.approx(move.now_mm, abs=1e-3)
        assert float(row["new [mm]"]) == pytest.approx(move.new_mm, abs=1e-3)
        assert row["as found [mm]"] == row["as left [mm]"] == ""
    assert float(table[-1]["move [mm]"]) == 20.0
    inch = rows(change, "inch")[-1]
    assert float(inch["move [in]"]) == pytest.approx(20.0 / 25.4, abs=1e-4)
    assert inch["move [in, fraction]"] == "25/32"
    # 100 mm/s is 6 m/min and 19.685 ft/min
    assert {float(row["mat speed now [m/min]"]) for row in table} == {6.0}
    assert float(inch["mat speed now [ft/min]"]) == pytest.approx(19.685, abs=1e-3)


@pytest.mark.parametrize("name", NASTY)
def test_no_name_becomes_a_formula_or_a_command(
    name: str, line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(stage(name=name))
    tall = replace(case.sizes[2], name=name)
    case = replace(case, name=name, sizes=(*case.sizes[:2], tall))
    change = plan_change(case, "big", name)
    for row in rows(change):
        for key in ("to size", "stage"):
            assert row[key].lstrip()[:1] not in tuple("=+-@")
            assert row[key][:1] not in tuple("\t\r\n")
            assert row[key].removeprefix("'") == name
    assert f"big → {printable(name)}" in shown(change)


def test_control_characters_do_not_reach_the_terminal(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    text = shown(plan_change(line(stage(name="a\x1b[31mb\x07")), "big", "small"))
    assert "\x1b" not in text
    assert "\x07" not in text


@given(st.text())
def test_safe_text_keeps_the_text(text: str) -> None:
    safe = safe_text(text)
    assert safe in (text, "'" + text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_json_is_plain_and_complete(change: SizeChange) -> None:
    data = json.loads(json.dumps(change_json(change), allow_nan=False))
    assert data["schema"] == 1
    assert (data["from"], data["to"], data["keep"]) == ("big", "tall", "rate")
    stage = data["stages"][0]
    assert len(stage["brackets"]) == 4
    assert stage["hold_down"]["new_mm"] == 144.0
    assert stage["wires"]["moves"][0]["serves_no_size"] is False
    assert math.isclose(data["cans_per_minute"]["now"], data["cans_per_minute"]["new"])
    assert {"key": "wire_margins.lip_mm", "value": "8 mm", "why": "common practice, no source"} in (
        data["assumed"]
    )
