"""Saving: a scenario written out reads back equal, whatever its names and values are."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.line import Bracket, Scenario
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
from packsim.scenario.fields import toml_text
from tests.scenario.conftest import SMALL

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
NAME = TEXT.filter(lambda text: bool(text.strip()))
SWING = Path(__file__).resolve().parents[2] / "scenarios" / "swing_line.toml"
BASE = load_scenario(SWING)


@given(TEXT)
def test_any_text_survives(text: str) -> None:
    assert tomllib.loads(f"x = {toml_text(text)}") == {"x": text}
    assert "\n" not in toml_text(text)


@settings(max_examples=30, deadline=None)
@given(NAME, TEXT, st.lists(NAME, min_size=10, max_size=10, unique=True), st.integers(0, 2**63 - 1))
def test_odd_names_survive(name: str, about: str, names: list[str], seed: int) -> None:
    stages = tuple(replace(stage, name=new) for stage, new in zip(BASE.stages, names, strict=False))
    sizes = tuple(replace(can, name=new) for can, new in zip(BASE.sizes, names[8:], strict=True))
    scenario = replace(
        BASE, name=name, about=about, stages=stages, sizes=sizes, set_for=sizes[1].name, seed=seed
    )
    # the guides are wide enough for either size, so the name is all that changes
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


@settings(max_examples=30, deadline=None)
@given(
    st.floats(700.0, 1500.0),
    st.floats(750.0, 850.0),
    st.floats(0.0, 1.0),
    st.floats(1.0, 500.0),
    st.floats(-40.0, 500.0),
    st.floats(0.001, 3.0),
)
def test_any_values_survive(
    width: float, centre: float, share: float, speed: float, temperature: float, angle: float
) -> None:
    width = min(width, 2.0 * centre, 2.0 * (1600.0 - centre))
    stage = BASE.stages[1].with_clear_width(width, centre)
    header = stage.headers[0]
    header = replace(
        header,
        pressure_MPa=share,
        pitch_mm=speed,
        nozzle=replace(header.nozzle, angle_rad=max(0.01, min(angle, 2.9))),
    )
    stage = replace(stage, temperature_C=temperature, water_in_dome=(share, 1.0), headers=(header,))
    scenario = replace(
        BASE,
        mat=replace(BASE.mat, speed_mm_per_s=speed, friction=share),
        stages=(BASE.stages[0], stage, *BASE.stages[2:]),
    )
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


@given(st.lists(st.floats(0.0, 1200.0), min_size=1, max_size=6, unique=True), st.floats(0.0, 90.0))
@settings(max_examples=30, deadline=None)
def test_uneven_brackets_survive(stations: list[float], taper: float) -> None:
    brackets = tuple(
        Bracket(at, 50.0 + taper * i / 7.0, 1500.0 - taper * i / 7.0)
        for i, at in enumerate(sorted(stations))
    )
    stage = BASE.stages[0]
    stage = replace(stage, guides=replace(stage.guides, brackets=brackets, travel_mm=None))
    scenario = replace(BASE, stages=(stage, *BASE.stages[1:]))
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


def test_a_saved_file_is_readable() -> None:
    text = scenario_to_toml(BASE)
    assert 'clear_width = "1388.5 mm"' in text
    assert 'speed = "5.5 m/min"' in text
    assert 'temperature = "60 degC"' in text
    assert 'pressure = "1.8 bar"' in text
    assert text.count("wire_heights") == 1  # alike in every stage, so it stands once
    assert "brackets = [" not in text


def test_saving_twice_changes_nothing(small: str) -> None:
    once: Scenario = parse_scenario(small)
    text = scenario_to_toml(once)
    assert scenario_to_toml(parse_scenario(text)) == text


def test_what_we_ship_keeps_its_ranges() -> None:
    for path in SWING.parent.glob("*.toml"):
        line = load_scenario(path)
        again = parse_scenario(scenario_to_toml(line))
        assert again == line
        assert tuple(again.ranges) == tuple(line.ranges), path


OFF = st.sampled_from(["± 0.5 mm", "± 1 %", "+/- 1/16 in", "± 0.02 in"])
READINGS = st.lists(st.integers(1, 99).map(lambda tenth: f"66.{tenth:02d} mm"), min_size=2)


@settings(max_examples=40, deadline=None)
@given(OFF, OFF, OFF, st.none() | READINGS)
def test_what_was_measured_is_saved_as_it_was_written(
    width: str, wire: str, place: str, readings: list[str] | None
) -> None:
    text = SMALL
    for old, off in (('"588 mm"', width), ('"65 mm"', wire), ('"92 mm"', place)):
        text = text.replace(old, f'{old[:-1]} {off}"')
    told = "" if readings is None else ", ".join(f'"{each}"' for each in readings)
    if told:
        text = text.replace('"us_12oz_std"', f'"us_12oz_std"\ndiameter = [{told}]')
    line = parse_scenario(text)
    saved = scenario_to_toml(line)
    again = parse_scenario(saved)
    assert again == line
    assert tuple(again.ranges) == tuple(line.ranges)
    assert f'"588 mm {width}"' in saved
    assert f"diameter = [{told}]" in saved or not told


def test_a_value_set_anew_has_no_plus_minus_any_more() -> None:
    text = SWING.read_text(encoding="utf-8").replace('"1388.5 mm"', '"1388.5 mm ± 0.5 mm"')
    line = parse_scenario(text)
    moved = line.with_stages(
        tuple(
            stage.with_clear_width(1387.0) if stage.name == "wash" else stage
            for stage in line.stages
        )
    )
    saved = scenario_to_toml(moved)
    assert (text.count("±"), saved.count("±")) == (2, 1)
    assert parse_scenario(saved) == moved
