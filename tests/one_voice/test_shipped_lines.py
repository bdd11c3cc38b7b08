"""Over the shipped scenarios: every command, and every size, says the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from packsim.headers import design_headers
from packsim.report.files.as_json import as_json
from packsim.scenario import load_scenario
from packsim.setting import recommend
from tests.one_voice import voices as by

SHIPPED = ("first_look.toml", "height_only.toml", "oven_lane.toml", "swing_line.toml")


@pytest.mark.parametrize("name", SHIPPED)
def test_commands_say_the_same_of_a_line_as_found(root: Path, name: str) -> None:
    case, voices = load_scenario(root / "scenarios" / name), by.Voices()
    by.hear_study(voices, case)
    by.hear_plan(voices, case)
    by.hear_nozzles(voices, case)
    by.hear_why(voices, case)
    by.hear_sweep(voices, case)
    by.hear_change(voices, case)
    by.hear_compare(voices, replace(case, ranges=()))
    assert voices.laid_side_by_side > 250
    assert not voices.contradictions()


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=() if name == "oven_lane.toml" else pytest.mark.all)
        for name in SHIPPED
    ],
)
def test_commands_say_the_same_of_a_line_as_recommended(root: Path, name: str) -> None:
    case = load_scenario(root / "scenarios" / name)
    for can in case.sizes:
        voices = by.as_set(case, can.name)
        by.hear_plan_as_set(voices, case, can.name)
        assert voices.laid_side_by_side > 50
        assert not voices.contradictions()


def test_a_header_is_designed_for_the_recommended_lanes(root: Path) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    told = as_json("nozzles design", case, answers=design_headers(case, ["rinse"]))
    for design in told["answers"]:
        for size, lanes in zip(design["sizes"], design["lanes"], strict=True):
            setting = recommend(case, size)
            assert {setting.of_stage(stage).lanes for stage in design["stages"]} == {lanes}
