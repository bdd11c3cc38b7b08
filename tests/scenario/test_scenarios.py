"""Every shipped scenario loads, says it is invented, and is what its comments claim."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import pytest

from packsim.line import Scenario
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml

SHIPPED = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))


@pytest.fixture(params=SHIPPED, ids=lambda path: path.stem)
def shipped(request: pytest.FixtureRequest) -> Path:
    path: Path = request.param
    return path


def test_the_promised_ones_are_there() -> None:
    names = {path.stem for path in SHIPPED}
    assert {"first_look", "swing_line", "height_only", "oven_lane"} <= names


def test_loads_and_says_it_is_invented(shipped: Path) -> None:
    scenario = load_scenario(shipped)
    text = shipped.read_text(encoding="utf-8")
    assert "invented" in scenario.about
    assert text.startswith("#")
    assert "nvented" in text.partition("schema =")[0]


def test_saved_is_the_same_scenario(shipped: Path) -> None:
    scenario = load_scenario(shipped)
    again = parse_scenario(scenario_to_toml(scenario))
    assert again == scenario
    assert [can.assumed for can in again.sizes] == [can.assumed for can in scenario.sizes]


def test_kicks_are_assumed_in_every_stage(shipped: Path) -> None:
    scenario = load_scenario(shipped)
    keys = {entry.key for entry in scenario.assumed}
    for i in range(len(scenario.stages)):
        assert {f"stages[{i}].kicks.energy", f"stages[{i}].kicks.kicks_per_second"} <= keys


def _lanes_width_mm(diameter_mm: float, lanes: int) -> float:
    return diameter_mm * (1.0 + (lanes - 1) * math.sqrt(3.0) / 2.0)


def _scenario(name: str) -> Scenario:
    return load_scenario(next(path for path in SHIPPED if path.stem == name))


@pytest.mark.parametrize(
    ("name", "lanes"), [("first_look", 10), ("swing_line", 24), ("height_only", 17)]
)
def test_lengthwise_widths_fit_the_size_they_are_set_for(name: str, lanes: int) -> None:
    scenario = _scenario(name)
    can = scenario.size(scenario.set_for)
    for stage in scenario.stages:
        slack = stage.guides.narrowest_mm - _lanes_width_mm(can.diameter_mm, lanes)
        assert 5.0 <= slack <= 10.0


def test_the_sleek_body_is_loose_on_the_swing_line() -> None:
    scenario = _scenario("swing_line")
    stage = scenario.stages[0]
    sleek, body = scenario.size("sleek body"), scenario.size("211 body")
    room = stage.guides.narrowest_mm
    lanes = max(n for n in range(1, 60) if _lanes_width_mm(sleek.diameter_mm, n) <= room)
    assert room - _lanes_width_mm(sleek.diameter_mm, lanes) > 20.0
    assert sleek.height_mm > body.height_mm


def test_the_swing_line_has_what_a_washer_has() -> None:
    scenario = _scenario("swing_line")
    assert 6 <= len(scenario.stages) <= 8
    assert {stage.duty for stage in scenario.stages} == {"flood", "rinse", "blow-off", "drain"}
    assert any(stage.hold_down_mm for stage in scenario.stages)
    can = scenario.size(scenario.set_for)
    for stage in scenario.stages:
        if stage.hold_down_mm is not None:
            assert stage.hold_down_mm > can.height_mm
        if stage.duty == "flood":
            assert {header.side for header in stage.headers} == {"above", "below"}
        for header in stage.headers:
            assert 0.0 < header.positions_mm.min() < header.positions_mm.max() < 1600.0
            assert header.pitch_mm == pytest.approx(
                can.diameter_mm * math.sqrt(3.0) / 2.0, rel=1e-3
            )


def test_height_only_changes_height_only() -> None:
    low, tall = _scenario("height_only").sizes
    assert low.diameter_mm == tall.diameter_mm
    assert low.height_mm < tall.height_mm
    pressed = [stage for stage in _scenario("height_only").stages if stage.hold_down_mm]
    assert pressed
    for stage in pressed:
        assert stage.hold_down_mm is not None
        assert low.height_mm < stage.hold_down_mm < tall.height_mm


def test_the_oven_is_crosswise_and_dry() -> None:
    scenario = _scenario("oven_lane")
    can = scenario.size("12 oz")
    for stage in scenario.stages:
        assert stage.layout == "crosswise"
        assert stage.duty == "oven"
        assert not stage.headers
        assert 16 * can.diameter_mm < stage.guides.narrowest_mm < 16.5 * can.diameter_mm


def test_loading_loads_nothing_that_draws_or_solves() -> None:
    shipped = next(path for path in SHIPPED if path.stem == "swing_line")
    code = (
        "import sys, packsim.scenario as s;"
        f"s.load_scenario({str(shipped)!r});"
        "print([m for m in ('pygame', 'matplotlib', 'jinja2', 'scipy') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
