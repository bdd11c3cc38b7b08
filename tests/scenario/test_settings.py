"""Settings on record: read from a file, refused where they make no sense, saved without loss."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import Bracket, KnownSetting, Scenario
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml

RECORD = """
[[stages.settings]]
size = "body"
clear_width = "600 mm"
pack_centre_from_left = "351 mm"
wire_heights = ["30 mm", "4 in"]
hold_down = "130 mm"
"""


def test_a_setting_is_read(small: str) -> None:
    stage = parse_scenario(small + RECORD).stages[0]
    known = stage.setting_for("body")
    assert known is not None
    assert stage.setting_for("other") is None
    # 351 mm ± 300 mm at every station the stage has
    assert {(b.left_mm, b.right_mm) for b in known.brackets} == {(51.0, 651.0)}
    assert [b.station_mm for b in known.brackets] == [b.station_mm for b in stage.guides.brackets]
    assert known.wire_heights_mm == (30.0, 101.6)
    assert known.hold_down_mm == 130.0


def test_without_a_centre_the_middle_of_the_mat_is_assumed(small: str) -> None:
    scenario = parse_scenario(small + RECORD.replace('pack_centre_from_left = "351 mm"\n', ""))
    assert scenario.stages[0].settings[0].brackets[0].centre_mm == 350.0
    assert "stages[0].settings[0].pack_centre_from_left" in {
        entry.key for entry in scenario.assumed
    }


BAD = {
    "unknown size": ('size = "body"', 'size = "bodi"', "stages[0].settings[0].size"),
    "no width": ('clear_width = "600 mm"\n', "", "stages[0].settings[0].clear_width"),
    "off the mat": ('"600 mm"', '"720 mm"', "stages[0].settings[0].clear_width"),
    "wires not rising": ('"4 in"', '"1 in"', "stages[0].settings[0].wire_heights"),
    "both ways": (
        'hold_down = "130 mm"',
        'brackets = [{ from_stage_start = 0, left = "51 mm", right = "651 mm" }]',
        "stages[0].settings[0].clear_width",
    ),
    "other stations": (
        'clear_width = "600 mm"\npack_centre_from_left = "351 mm"',
        'brackets = [{ from_stage_start = 0, left = "51 mm", right = "651 mm" }]',
        "stages[0].settings[0].brackets",
    ),
    "unknown key": (
        "pack_centre_from_left =",
        "pack_center =",
        "stages[0].settings[0].pack_center",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_nonsense_is_refused_by_its_key(case: str, small: str) -> None:
    old, new, key = BAD[case]
    assert old in RECORD
    with pytest.raises(InputError) as caught:
        parse_scenario(small + RECORD.replace(old, new))
    assert caught.value.key == key


def test_the_same_size_twice_is_refused(small: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_scenario(small + RECORD + RECORD)
    assert caught.value.key == "stages[0].settings[1].size"


@settings(max_examples=min(30, settings().max_examples))
@given(
    st.floats(0.0, 60.0),
    st.floats(500.0, 700.0),
    st.floats(0.0, 40.0),
    st.none() | st.floats(100.0, 200.0),
    st.booleans(),
)
def test_any_setting_survives_saving(
    left: float, right: float, taper: float, hold_down: float | None, wires: bool
) -> None:
    stage = BASE.stages[0]
    stood = tuple(
        Bracket(b.station_mm, left + taper * i / 7.0, right)
        for i, b in enumerate(stage.guides.brackets)
    )
    known = KnownSetting("body", stood, (20.3, 99.9) if wires else None, hold_down)
    scenario = replace(BASE, stages=(replace(stage, settings=(known,)),))
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def _base() -> Scenario:
    root = Path(__file__).resolve().parents[2]
    loaded = load_scenario(root / "scenarios" / "first_look.toml")
    can = replace(loaded.sizes[0], name="body")
    return replace(loaded, sizes=(can,), set_for="body", stages=loaded.stages[:1])


BASE = _base()
