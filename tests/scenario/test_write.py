"""Saving: a scenario written out reads back equal, whatever its names and values are."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.errors import printable
from packsim.line import Bracket, Header, KnownSetting, Nozzle, Scenario, Stage
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
from packsim.scenario.new import new_text
from packsim.scenario.values.readers import toml_text
from tests.scenario.conftest import SMALL

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
NAME = TEXT.map(printable).filter(lambda text: bool(text.strip()))
SWING = Path(__file__).resolve().parents[2] / "scenarios" / "swing_line.toml"
BASE = load_scenario(SWING)


@given(TEXT)
def test_any_text_survives(text: str) -> None:
    assert tomllib.loads(f"x = {toml_text(text)}") == {"x": text}
    assert "\n" not in toml_text(text)


@settings(max_examples=min(30, settings().max_examples))
@given(NAME, TEXT, st.lists(NAME, min_size=10, max_size=10, unique=True), st.integers(0, 2**63 - 1))
def test_odd_names_survive(name: str, about: str, names: list[str], seed: int) -> None:
    stages = tuple(replace(stage, name=new) for stage, new in zip(BASE.stages, names, strict=False))
    sizes = tuple(replace(can, name=new) for can, new in zip(BASE.sizes, names[8:], strict=True))
    scenario = replace(
        BASE, name=name, about=about, stages=stages, sizes=sizes, set_for=sizes[1].name, seed=seed
    )
    # the guides are wide enough for either size, so the name is all that changes
    read = parse_scenario(scenario_to_toml(scenario))
    assert replace(read, about=about) == scenario
    assert read.about == "\n".join(printable(line) for line in about.splitlines())


@settings(max_examples=min(30, settings().max_examples))
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
@settings(max_examples=min(30, settings().max_examples))
def test_uneven_brackets_survive(stations: list[float], taper: float) -> None:
    brackets = tuple(
        Bracket(at, 50.0 + taper * i / 7.0, 1500.0 - taper * i / 7.0)
        for i, at in enumerate(sorted(stations))
    )
    stage = BASE.stages[0]
    stage = replace(stage, guides=replace(stage.guides, brackets=brackets, travel_mm=None))
    scenario = replace(BASE, stages=(stage, *BASE.stages[1:]))
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


PICK = st.sampled_from
NOZZLES = (
    Nozzle("cone", 1.0, 13333.0, 0.2),
    Nozzle("cone", 1.0, 13333.0, 0.2, twist_rad=0.25),
    Nozzle("hollow cone", 1.0, 13333.0, 0.2, hollow_share=0.5),
    Nozzle("fan", 1.0, 13333.0, 0.2, thin_angle_rad=0.2, twist_rad=0.25),
    Nozzle("fan", 1.2, 13333.0, 0.2, measured_rad=(0.3, 0.6), measured_share=(0.6, 0.4)),
)
HEADERS = st.builds(
    Header,
    side=PICK(["above", "below"]),
    station_mm=PICK([300.0, 600.0]),
    mat_distance_mm=PICK([150.0, 320.0]),
    first_mm=st.just(100.0),
    pitch_mm=st.just(57.2),
    count=PICK([20, 24]),
    pressure_MPa=PICK([0.1, 0.2]),
    nozzle=PICK(NOZZLES),
    pipe_mm=PICK([None, 52.5]),
)


@st.composite
def stages(draw: st.DrawFn, name: str) -> Stage:
    base = draw(PICK(BASE.stages[:3]))
    wires = replace(base.guides.wires, tension_N=draw(PICK([700.0, 800.0])))
    guides = replace(base.guides, wires=wires, travel_mm=draw(PICK([None, (60.0, 260.0)])))
    if draw(st.booleans()):
        brackets = draw(
            PICK([((0.0, 100.0, 1488.0),), ((0.0, 90.0, 1490.0), (900.0, 91.0, 1488.0))])
        )
        guides = replace(guides, brackets=tuple(Bracket(*one) for one in brackets))
    kicks = replace(
        base.kicks,
        energy_mJ=draw(PICK([0.04, 0.05])),
        trial=draw(PICK(["", "week 12"])),
        under_headers=draw(PICK([None, 0.5])),
    )
    set_so = KnownSetting(BASE.sizes[1].name, guides.brackets, hold_down_mm=draw(PICK([None, 9.0])))
    return replace(
        base,
        name=name,
        kicks=kicks,
        guides=guides,
        hold_down_mm=draw(PICK([None, 130.0])),
        headers=tuple(draw(st.lists(HEADERS, max_size=5))),
        settings=draw(PICK([(), (set_so,)])),
    )


@given(st.data(), st.integers(1, 5))
def test_any_line_survives_though_what_is_alike_is_said_once(data: st.DataObject, n: int) -> None:
    drawn = [data.draw(stages(f"stage {i}")) for i in range(n)]
    line = parse_scenario(scenario_to_toml(replace(BASE, stages=tuple(drawn))))
    assert line.stages == tuple(drawn)
    assert parse_scenario(scenario_to_toml(line)) == line


def test_a_stage_more_that_is_alike_takes_three_lines_and_headers_none() -> None:
    wash = BASE.stage("wash")
    pair = wash.headers[:2]
    more = tuple(replace(wash, name=f"wash {i}") for i in range(9))
    rows = tuple(replace(one, station_mm=at) for at in (800.0, 900.0, 1000.0) for one in pair)

    def lines(*every: Stage) -> int:
        text = scenario_to_toml(replace(BASE, stages=every, assumed=(), ranges=()))
        return len(text.partition("[guides]")[2].splitlines())

    assert lines(*more) == lines(*more[:2]) + 7 * 4  # heading, name, like, a blank line
    assert lines(replace(wash, headers=rows)) == lines(replace(wash, headers=pair))


def test_a_saved_line_is_little_longer_than_a_person_would_write_it() -> None:
    for name in ("swing_line", "imperial_line", "height_only"):
        file = SWING.with_name(f"{name}.toml")
        text = scenario_to_toml(load_scenario(file)).partition("[guides]")[2]
        saved = text.partition("[[assumed]]")[0].splitlines()
        own = file.read_text(encoding="utf-8").partition("[guides]")[2].splitlines()
        assert len(saved) < 1.5 * len(own), name


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


def test_a_can_of_another_metal_keeps_what_was_worked_out_for_it() -> None:
    own = 'diameter = "66 mm"\nheight = "120 mm"\nmetal = "steel"'
    for said in (own, 'catalogue = "us_12oz_std"\nmetal = "steel"'):
        line = parse_scenario(SMALL.replace('catalogue = "us_12oz_std"', said))
        again = parse_scenario(scenario_to_toml(line))
        assert again == line
        assert again.sizes[0].assumed == line.sizes[0].assumed
        kinds = {one.key: one.kind for one in again.ranges}
        assert kinds["sizes[0].mass"] == "assumed"


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


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_a_line_of_which_nobody_knew_anything_is_saved_with_its_ranges(units: str) -> None:
    line = parse_scenario(new_text({"units": units}))
    again = parse_scenario(scenario_to_toml(line))
    assert again == line
    assert {one.key: one for one in again.ranges} == {one.key: one for one in line.ranges}
