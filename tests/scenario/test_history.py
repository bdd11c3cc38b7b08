"""What a line is known to have done: read, written, and refused where it says nothing."""

from __future__ import annotations

import pytest

from packsim.errors import InputError
from packsim.line import PastCount
from packsim.scenario import parse_scenario, scenario_to_toml

ROW = '\n[[history]]\nname = "2024"\nsize = "body"\n'


@pytest.mark.parametrize(
    ("given", "tipped"),
    [
        ("tipped = 1000", 1000),
        ("tips_per_million = 500", 1000),
        ('tips_per_million = "0.05 %"', 1000),
        ('tips_per_million = "500 per million"', 1000),
        ("tips_per_million = 0", 0),
    ],
)
def test_a_count_is_cans_or_a_rate_in_any_way_it_is_said(small, given, tipped) -> None:
    scenario = parse_scenario(f"{small}{ROW}cans = 2_000_000\n{given}\n")
    assert scenario.history == (PastCount("body", 2_000_000, tipped, "2024"),)
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def test_stage_place_and_widths_of_then_are_kept(small) -> None:
    row = f'{ROW}cans = 9000\ntipped = 9\nstage = "wash"\nplace = "left edge"\n'
    row += 'clear_width = "592 mm"\nwidths = [{ stage = "wash", clear_width = "590 mm" }]\n'
    scenario = parse_scenario(small + row)
    (past,) = scenario.history
    assert (past.stage, past.place, past.clear_width_mm) == ("wash", "left edge", 592.0)
    assert scenario.as_it_was(past).stages[0].guides.narrowest_mm == 590.0
    assert scenario.stages[0].guides.narrowest_mm == 588.0
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def test_a_rate_without_cans_is_taken_to_rest_on_a_hundred_tips_and_says_so(small) -> None:
    scenario = parse_scenario(f'{small}{ROW}tips_per_million = "0.05 %"\n')
    assert (scenario.history[0].cans, scenario.history[0].tipped) == (200_000, 100)
    (entry,) = [one for one in scenario.assumed if one.key == "history[0].cans"]
    assert "100 tips" in entry.why


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("cans = 10", "history[0].tipped: got nothing"),
        (
            "cans = 10\ntipped = 1\ntips_per_million = 5",
            "history[0].tipped: got 1; needs tipped or tips_per_million",
        ),
        ("tips_per_million = 0", "history[0].cans: got nothing"),
        ("cans = 10\ntipped = 11", "history[0].tipped: got 11"),
        ('cans = 10\ntips_per_million = "5 mm"', "history[0].tips_per_million: got 5 mm"),
        ("cans = 10\ntips_per_million = true", "history[0].tips_per_million: got true"),
        ('cans = 10\ntipped = 1\nstage = "oven"', "history[0].stage: got oven"),
        ('cans = 10\ntipped = 1\nplace = "left"', "history[0].place: got left"),
    ],
)
def test_a_count_that_says_nothing_is_refused(small, row: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_scenario(f"{small}{ROW}{row}\n")
    assert says in str(caught.value)


def test_new_keys_of_the_line_are_none_and_not_assumed_and_survive(small) -> None:
    plain = parse_scenario(small)
    text = small.replace("[mat]\n", '[mat]\nstart_acceleration = "0.5 m/s^2"\nodd_cans = "0.1 %"\n')
    text = text.replace("[guides]\n", '[guides]\nstep_at_brackets = "0.5 mm"\n')
    text = text.replace("[mat]\n", '[mat]\nodd_cans_narrower = "2 mm"\n')
    text = text.replace('"588 mm"', '"588 mm"\njoint_kick = "0.02 mJ"')
    scenario = parse_scenario(text)
    assert {one.key for one in scenario.assumed} == {one.key for one in plain.assumed}
    mat, stage = scenario.mat, scenario.stages[0]
    assert mat.start_acceleration_mm_per_s2 == 500.0
    assert (mat.odd_share, mat.odd_by_mm) == (0.001, 2.0)
    assert (stage.joint_kick_mJ, stage.guides.step_mm) == (0.02, 0.5)
    assert parse_scenario(scenario_to_toml(scenario)) == scenario
    still = plain.mat.start_acceleration_mm_per_s2, plain.mat.odd_share
    assert still == (plain.stages[0].joint_kick_mJ, plain.stages[0].guides.step_mm) == (0.0, 0.0)
