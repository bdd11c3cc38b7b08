"""A value that no line has is asked about: refused where it cannot be, doubted where unlikely."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import DUTIES
from packsim.scenario import load_scenario, parse_scenario
from packsim.scenario.complaints import did_you_mean
from packsim.scenario.load import UnlikelyValue, unlikely_values

SHIPPED = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))


def refused(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_scenario(text)
    return str(caught.value)


def test_a_width_beyond_the_mat_asks_for_the_other_unit(small: str) -> None:
    feet = small.replace("700 mm", "5.35 in").replace("588 mm", "50 in")
    assert "got 50 in" in refused(feet)
    assert "mat.width 5.35 in: did you mean 5.35 ft?" in refused(feet)
    inches = small.replace("588 mm", "23.15 ft")
    assert "23.15 ft: did you mean 23.15 in?" in refused(inches)


def test_guides_closer_than_a_can_ask_too(small: str) -> None:
    assert "23.15 mm: did you mean 23.15 in?" in refused(small.replace("588 mm", "23.15 mm"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_what_we_ship_is_not_doubtful(path: Path) -> None:
    assert load_scenario(path).unlikely == ()


def test_a_stage_a_tenth_as_long_as_its_neighbours_is_doubtful() -> None:
    line = load_scenario(next(path for path in SHIPPED if path.stem == "swing_line"))
    first = line.stages[0]
    short = 4 * 25.4  # 4 ft, with the wrong unit
    guides = replace(first.guides, brackets=first.guides.brackets[:1])
    stage = replace(first, length_mm=short, guides=guides, headers=(), settings=())
    found = unlikely_values(line.with_stages((stage, *line.stages[1:])))
    assert [one.key for one in found] == ["stages[0].length"]
    assert found[0].question == "4 in: did you mean 4 ft?"
    assert found[0].stage == first.name


@pytest.mark.parametrize("given", ["6.609 in", "200 mm"])
def test_a_can_wider_than_any_known_body_is_doubtful(small: str, given: str) -> None:
    own = small.replace(
        'catalogue = "us_12oz_std"', f'diameter = "{given}"\nheight = "124 mm"\nmass = "10 g"'
    )
    found = parse_scenario(own).unlikely
    assert [one.key for one in found] == ["sizes[0].diameter"]
    assert found[0].text == given
    asked = {"6.609 in": "", "200 mm": ""}
    assert found[0].question == asked[given]


@given(st.integers(10, 99999), st.sampled_from(["in", "ft"]))
def test_the_question_names_a_length_that_would_do(number: int, unit: str) -> None:
    text = f"{number / 100:g}"
    right = float(text) * (304.8 if unit == "ft" else 25.4)
    wrong = f"{text} {'in' if unit == 'ft' else 'ft'}"
    asked = did_you_mean(wrong, 0.9 * right, 1.1 * right)
    assert asked == f"{wrong}: did you mean {text} {unit}?"


@given(st.integers(1, 999), st.sampled_from(["", " mm", " in", " ft", " m"]))
def test_nothing_is_asked_about_what_is_likely(number: int, unit: str) -> None:
    assert did_you_mean(f"{number}{unit}", 0.0, 1e9) == ""


def test_a_wash_is_a_flood_and_a_spray_is_told_which(small: str) -> None:
    assert parse_scenario(small.replace('"flood"', '"wash"')) == parse_scenario(small)
    said = refused(small.replace('"flood"', '"spray"'))
    assert 'a spray at high pressure is a "flood" or "wash", one at low pressure a "rinse"' in said
    assert all(f'"{duty}"' in said for duty in DUTIES)


def test_a_file_with_a_doubtful_value_is_read_with_the_question(tmp_path: Path, small: str) -> None:
    second = '\n[[stages]]\nname = "last"\nduty = "drain"\nlength = "4 in"\nclear_width = 588\n'
    (tmp_path / "line.toml").write_text(small + second)
    with pytest.warns(UnlikelyValue, match="4 in: did you mean 4 ft"):
        load_scenario(tmp_path / "line.toml")
