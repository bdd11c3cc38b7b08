"""Worst is worst: the dome water is taken where it is worse for the question asked (issue 12)."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.answers import Answer, answer_stage, stage_pack
from packsim.answers.worst_can import fill_words, worst_share
from packsim.can import Can
from packsim.line import Scenario
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
from packsim.spray.spray_forces import spray_forces
from packsim.spray.spray_load import least_balance_rad, load_on, spray_load
from packsim.study import study_line

GRID = np.linspace(0.0, 1.0, 101)


@pytest.fixture(scope="module")
def swing(root: Path) -> Scenario:
    return load_scenario(root / "scenarios" / "swing_line.toml")


def at(line: Scenario, water: tuple[float, float], stage: str, size: str) -> Answer:
    stages = tuple(replace(one, water_in_dome=water) for one in line.stages)
    return answer_stage(line.with_stages(stages), stage, size)


def test_the_wash_of_the_swing_line_is_worst_with_the_domes_empty(swing: Scenario) -> None:
    """It was judged brim full, called the worse case: 12.3 mm instead of 5.4 mm."""
    full = at(swing, (1.0, 1.0), "wash", "sleek body").tipping.safe.slack_mm
    empty = at(swing, (0.0, 0.0), "wash", "sleek body").tipping.safe.slack_mm
    assert (full, empty) == (pytest.approx(12.3, abs=0.05), pytest.approx(5.4, abs=0.05))
    found = answer_stage(swing, "wash", "sleek body")
    assert found.tipping.safe.slack_mm == empty
    assert found.water.said == "worst with the domes empty"
    (told,) = [
        f
        for f in study_line(swing).findings
        if f.size == "sleek body" and "wash" in f.stages and "finds more than" in f.what
    ]
    assert "(worst with the domes empty" in told.what


@pytest.mark.parametrize("stage", ["pre-rinse", "pre-wash", "wash", "blow-off", "drain"])
@pytest.mark.parametrize("size", ["211 body", "sleek body"])
def test_no_share_of_a_fine_grid_is_worse(swing: Scenario, stage: str, size: str) -> None:
    worst = at(swing, (0.0, 1.0), stage, size)
    each = [at(swing, (share, share), stage, size) for share in GRID[::5]]
    lowest: list[Callable[[Answer], float]] = [
        lambda a: a.tipping.safe.slack_mm,
        lambda a: a.tipping.balance_angle_rad,
        lambda a: a.tipping.rest_angle_rad,
        lambda a: a.window.high_mm,
        lambda a: 1.0 if a.lightest is None else float(a.lightest.hold_margin.min()),
    ]
    for least in lowest:
        assert least(worst) <= min(map(least, each)) * (1.0 + 1e-9)
    assert worst.tipping.loosest.worst >= max(a.tipping.loosest.worst for a in each) * (1 - 1e-9)


def test_a_part_full_dome_may_be_the_worst(small: SimpleNamespace) -> None:
    """Two moments: a push that the weight resists, and no push; the least of both is between."""
    stage = small.stage(headers=(small.header(pressure_MPa=0.06),))
    line = small.line(stage)
    can: Can = line.sizes[0]
    pack = stage_pack(stage, can, 590.0)
    forces = spray_forces(
        _lines(pack.lanes, can, 590.0), can.stance(), stage.headers, line.mat.open_fraction
    )
    fine = np.linspace(0.0, 1.0, 2001)
    values = [least_balance_rad(can.stance(float(x)), forces) for x in fine]
    found = worst_share(lambda x: least_balance_rad(can.stance(x), forces), 0.0, 1.0)
    assert least_balance_rad(can.stance(found), forces) <= min(values) + 1e-9


@given(st.floats(0.0, 1.0), st.floats(0.3, 3.0), st.floats(0.0, 0.9), st.floats(0.01, 0.1))
def test_the_least_of_a_valley_is_found(
    low_at: float, power: float, low: float, width: float
) -> None:
    high = min(1.0, low + width + 0.05)

    def valley(x: float) -> float:
        return 1.0 + abs(x - low_at) ** (1.0 + power)

    found = worst_share(valley, low, high)
    fine = min(valley(float(x)) for x in np.linspace(low, high, 4001))
    assert low <= found <= high
    assert valley(found) <= fine + 1e-5


def _lines(lanes: int, can: Can, width_mm: float) -> list[float]:
    pitch = can.diameter_mm * math.sqrt(0.75)
    first = 500.0 - (lanes - 1) * pitch / 2.0
    return [first + i * pitch for i in range(lanes)]


@given(st.floats(0.0, 1.0), st.floats(0.005, 0.3))
def test_the_least_angle_is_that_of_the_whole_load(
    small: SimpleNamespace, share: float, pressure: float
) -> None:
    """Only the moments that can be the worst are kept; none of the others may be."""
    can: Can = small.can()
    headers = [small.header(pressure_MPa=pressure), small.header("below", pressure_MPa=pressure)]
    lines, stance = [400.0, 452.0, 520.0], can.stance(share)
    forces = spray_forces(lines, can.stance(), headers, 0.6)
    whole = spray_load(lines, stance, headers, 0.6)
    expected = 0.0 if whole.lifted.any() else float(whole.balance_rad.min())
    assert least_balance_rad(stance, forces) == pytest.approx(expected, abs=1e-12)
    assert load_on(stance, forces).hold_margin == pytest.approx(whole.hold_margin)


TEXTS = {
    '"0 to 100 %"': (0.0, 1.0),
    '"20 % to 80 %"': (0.2, 0.8),
    '"0.2 to 0.8"': (0.2, 0.8),
    "[0.0, 1.0]": (0.0, 1.0),
    '["10 %", 0.5]': (0.1, 0.5),
    "0.4": (0.4, 0.4),
    '"40 %"': (0.4, 0.4),
}


@pytest.mark.parametrize("text", TEXTS)
def test_a_range_in_a_file(text: str, root: Path) -> None:
    file = (root / "scenarios" / "first_look.toml").read_text(encoding="utf-8")
    given = file.replace('duty = "flood"', f'duty = "flood"\nwater_in_dome = {text}', 1)
    scenario = parse_scenario(given)
    assert scenario.stages[0].water_in_dome == TEXTS[text]
    assert parse_scenario(scenario_to_toml(scenario)) == scenario


@pytest.mark.parametrize(
    "text", ['"80 to 20 %"', "[]", "[0, 0.5, 1]", '"0 to 120 %"', '"to"', "[[0]]"]
)
def test_a_bad_range_is_refused(text: str, root: Path) -> None:
    from packsim.errors import InputError

    file = (root / "scenarios" / "first_look.toml").read_text(encoding="utf-8")
    given = file.replace('duty = "flood"', f'duty = "flood"\nwater_in_dome = {text}', 1)
    with pytest.raises(InputError, match="water_in_dome"):
        parse_scenario(given)


def test_left_out_is_the_whole_range_but_in_an_oven(root: Path) -> None:
    first = load_scenario(root / "scenarios" / "first_look.toml")
    assert first.stages[0].water_in_dome == (0.0, 1.0)
    (entry,) = [a for a in first.assumed if a.key.endswith("water_in_dome")]
    assert entry.value == "0 to 1"
    assert fill_words(0.0, 0.0, 0.0) == "domes empty"
