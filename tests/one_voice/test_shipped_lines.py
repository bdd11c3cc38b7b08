"""Over the shipped scenarios: every command, and every size, says the same."""

from __future__ import annotations

from pathlib import Path

import pytest

from packsim.headers.pitch import advise_pitch
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
    assert voices.laid_side_by_side > 250
    assert not voices.contradictions()


@pytest.mark.parametrize("name", SHIPPED)
def test_commands_say_the_same_of_a_line_as_recommended(root: Path, name: str) -> None:
    case = load_scenario(root / "scenarios" / name)
    for can in case.sizes:
        voices = by.as_set(case, can.name)
        by.hear_plan_as_set(voices, case, can.name)
        assert voices.laid_side_by_side > 50
        assert not voices.contradictions()


@pytest.mark.parametrize("name", ["swing_line.toml", "first_look.toml"])
def test_a_pitch_is_for_the_recommended_lanes(root: Path, name: str) -> None:
    case = load_scenario(root / "scenarios" / name)
    told = as_json("nozzles pitch", case, answers=advise_pitch(case))
    for advice in told["answers"]:
        for size in advice["sizes"]:
            setting = recommend(case, size["size"])
            lanes = {setting.of_stage(stage).lanes for stage in advice["stages"]}
            assert lanes == {size["lanes"]}
