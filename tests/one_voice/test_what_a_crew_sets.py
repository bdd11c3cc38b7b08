"""What a crew sets by the printed sheet, and no more exactly, is what was recommended."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from packsim.answers import answer_line
from packsim.findings.rules import find_all
from packsim.line import Scenario
from packsim.report.terminal.change_sheet import bracket_rows
from packsim.report.terminal.study_table import study_report
from packsim.report.words.change_words import inch_step
from packsim.report.words.display import Display
from packsim.scenario import load_scenario
from packsim.size_change import apply_change, plan_change
from packsim.study import study_line
from tests.one_voice.lines import MANY, made_up
from tests.one_voice.test_printed_words import printed
from tests.shipped import ROOT

PLANT = Path(__file__).parent / "plant_in_inches.toml"
SHIPPED = [ROOT / "scenarios" / f"{name}_line.toml" for name in ("swing", "imperial")]


def widths_by_the_sheet(case: Scenario, display: Display) -> Iterator[tuple[float, float, float]]:
    """Clear width that the printed places of the brackets give, and both ends of its window [mm].

    Of stages the sheet says are set inside their window.
    """
    case = replace(case, rule_step_mm=display.rule_step_mm)
    for can in case.sizes:
        change = plan_change(case, case.set_for, can.name)
        step = inch_step(change)
        for stage in change.stages:
            if stage.setting.source == "window" and stage.setting.safe:
                mat = display.length_value(case.mat.width_mm)
                cells = [
                    (row, read(row.cells(display, step)["new"]))
                    for row in bracket_rows(stage, display)
                ]
                faces = {s: [x for r, x in cells if r.what.endswith(s)] for s in ("left", "right")}
                both = [x for r, x in cells if r.what.endswith("both sides")]
                left, right = (max(faces[s] or both) for s in ("left", "right"))
                width_mm = (mat - left - right) * case.mat.width_mm / mat
                low, high = stage.after.window.low_mm, stage.after.window.high_mm
                yield width_mm, low, high


def read(text: str) -> float:
    """Read a place as printed: decimals, or whole inches and a fraction."""
    return float(sum(map(Fraction, text.split())))


@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("file", [PLANT, *SHIPPED], ids=lambda path: path.stem)
def test_brackets_set_as_printed_stand_inside_the_window(file: Path, units: str) -> None:
    for width, low, high in widths_by_the_sheet(load_scenario(file), Display(units)):
        assert low - 1e-6 <= width <= high + 1e-6


@pytest.mark.all
@pytest.mark.parametrize("units", ["metric", "inch"])
def test_so_they_do_on_made_up_lines(units: str) -> None:
    found = [x for i in range(MANY) for x in widths_by_the_sheet(made_up(i), Display(units))]
    assert len(found) > MANY // 8
    assert [x for x in found if not x[1] - 1e-6 <= x[0] <= x[2] + 1e-6] == []


def test_some_of_these_stand_between_the_steps_of_the_brackets() -> None:
    plant = replace(load_scenario(PLANT), rule_step_mm=Display("inch").rule_step_mm)
    wash = plan_change(plant, "211", "211").stages[1].setting
    assert wash.gauge
    faces = [(b.left_mm, plant.mat.width_mm - b.right_mm) for b in wash.brackets]
    marks = [face / 25.4 * 32 for pair in faces for face in pair]
    assert marks == pytest.approx([round(mark) for mark in marks])


def test_a_setting_on_record_that_is_too_loose_is_told_alike_everywhere() -> None:
    """The old setting goes on record when another size is set; it may never have been good."""
    plant = load_scenario(PLANT)
    there = apply_change(plant, plan_change(plant, "211", "slim"))
    stage = plan_change(there, "slim", "211").stages[0]
    assert stage.setting.source == "record"
    assert not stage.setting.safe
    advice = "delete it from the scenario and ask again"
    sheet = [one for one in plan_change(there, "slim", "211").alerts if advice in one.do_text]
    study = [one for one in find_all(there, answer_line(there, "211")) if advice in one.do_text]
    assert "pre-wash" in sheet[0].stages
    assert "pre-wash" in study[0].stages
    text = " ".join(printed(study_report(study_line(there), Display())))
    assert "nearest to it" not in text  # another width would be safe
    assert "* not safe in the worst case" in text
