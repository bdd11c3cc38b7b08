"""A sweep turns one thing, leaves the rest alone, and its rows are what a study says there."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from packsim.answers import answer_stage, governing_stage
from packsim.answers.quantities import quantity
from packsim.errors import InputError
from packsim.line import Bracket, Scenario
from packsim.sweep import KNOBS, knob, sweep
from packsim.sweep.sweep import MAX_STEPS

NEED = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))
VALUES = {
    "clear-width": (585.0, 595.0),
    "wire-height": (60.0, 100.0),
    "tension": (200.0, 900.0),
    "shift": (-5.0, 5.0),
    "fill": (0.8, 1.0),
    "water-in-dome": (0.0, 1.0),
    "pressure": (0.5, 2.0),
    "pressure-above": (0.05, 0.2),
    "pressure-below": (0.0, 0.1),
    "hold-down": (125.0, 140.0),
    "pack-pressure": (0.0, 30.0),
    "temperature": (20.0, 80.0),
    "nozzle-pitch": (55.0, 62.0),
    "nozzle-count": (9.0, 12.0),
    "stand-off-above": (180.0, 260.0),
    "stand-off-below": (90.0, 160.0),
    "spray-angle-above": (0.5, 1.2),
    "spray-angle-below": (0.5, 1.2),
    "station-above": (-40.0, 35.0),
    "station-below": (-40.0, 35.0),
    "stagger-above": (-9.0, 21.0),
    "stagger-below": (-9.0, 21.0),
}


@pytest.fixture(scope="module")
def line(small: SimpleNamespace) -> Scenario:
    faces = (205.0, 795.0)
    stage = small.stage(
        "wash",
        brackets=(Bracket(0.0, *faces), Bracket(1000.0, *faces)),
        anchored=False,
        headers=(
            small.header(first_mm=236.0),
            small.header("below", pressure_MPa=0.02),
            small.header(station_mm=930.0, first_mm=236.0),
            small.header("below", station_mm=930.0, pressure_MPa=0.02),
        ),
        hold_down_mm=130.0,
        pack_pressure_N_per_m=10.0,
        water_in_dome=(0.5, 0.5),
    )
    other = small.stage("drain", water_in_dome=(1.0, 1.0))
    return small.line(stage, other, cans=(small.can("a"), small.can("b", cg_mm=80.0)))


def test_every_knob_is_tried() -> None:
    assert set(VALUES) == {each.name for each in KNOBS}
    assert len({each.name for each in KNOBS}) == len(KNOBS)
    for each in KNOBS:
        assert knob(each.name) is each
        assert each.what
    with pytest.raises(InputError, match="one of clear-width"):
        knob("width")


@pytest.mark.parametrize("name", VALUES)
def test_a_row_is_what_a_study_of_the_changed_line_says(line: Scenario, name: str) -> None:
    found = sweep(line, name, VALUES[name], "wash", "b")
    assert [row.value for row in found.rows] == list(VALUES[name])
    for row in found.rows:
        changed = knob(name).set(line, 0, row.value)
        assert changed.stages[1] is line.stages[1]
        again = answer_stage(changed, changed.stages[0].name, "b")
        assert row.answer.tipping == again.tipping
        assert row.answer.window == again.window
        if name not in ("shift", "pressure") and not name.startswith(("station", "stagger")):
            assert knob(name).now(changed.stages[0]) == pytest.approx(row.value)
    one, two = (row.answer for row in found.rows)
    differs = (
        one.tipping != two.tipping
        or one.budget != two.budget
        or one.flow != two.flow
        or one.hold_down != two.hold_down
        or one.alignment.now.worst_mm != two.alignment.now.worst_mm
        or any(np.any(one.doses[place] != two.doses[place]) for place in one.doses)
    )
    assert differs, "a knob that changes nothing"


@pytest.mark.parametrize("name", VALUES)
def test_setting_the_present_value_changes_nothing(line: Scenario, name: str) -> None:
    now = knob(name).now(line.stages[0])
    assert knob(name).set(line, 0, now) == line


def test_the_scenario_itself_stays(line: Scenario) -> None:
    before = replace(line)
    found = sweep(line, "clear-width", (580.0, 600.0), "wash", "a")
    assert line == before
    assert found.now == 590.0
    assert found.scenario is line


def test_slack_follows_the_width_and_the_index_the_slack(line: Scenario) -> None:
    widths = [NEED + s for s in range(0, 26, 5)]
    found = sweep(line, "clear-width", widths, "wash", "a")
    slacks = [row.answer.budget.slack_mm for row in found.rows]
    assert slacks == pytest.approx([0.0, 5.0, 10.0, 15.0, 20.0, 25.0], abs=1e-9)
    indices = [row.answer.tipping.loosest.worst for row in found.rows]
    assert indices == sorted(indices)


def test_the_crossing_is_where_the_slack_is_the_safe_slack(small: SimpleNamespace) -> None:
    """tan α = 5/12, wire at 96: 40 mm, of which the setting step takes 1."""
    line = small.line(small.stage(state="slack"))
    widths = [NEED + s for s in (30.0, 35.0, 38.5, 39.5, 45.0)]
    found = sweep(line, "clear-width", widths, "wash", "can")
    assert found.crossing == pytest.approx(NEED + 39.0, abs=0.01)
    assert sweep(line, "clear-width", widths[:3], "wash", "can").crossing is None
    # a rising wire brings the index down through 1
    line = small.line(small.stage(state="slack", width_mm=NEED + 30.0))
    found = sweep(line, "wire-height", (60.0, 70.0, 80.0, 90.0), "wash", "can")
    assert found.crossing == pytest.approx(31.0 * 12.0 / 5.0, abs=0.3)


def test_a_crossing_next_to_no_support_at_all_is_the_last_place_that_holds(
    small: SimpleNamespace,
) -> None:
    line = small.line(small.stage(heights_mm=(90.0,)))
    found = sweep(line, "wire-height", (90.0, 110.0, 130.0), "wash", "can")
    assert math.isinf(found.rows[2].answer.tipping.loosest.edge)
    assert found.crossing == 130.0


def test_where_no_can_fits_nothing_is_safe_and_nothing_crosses(small: SimpleNamespace) -> None:
    """Issue 12: a width narrower than a can had a tip index and tips of 0."""
    line = small.line(small.stage())
    found = sweep(line, "clear-width", (40.0, 50.0, 61.0, 62.0), "wash", "can")
    none = found.rows[0].answer
    assert math.isnan(none.tipping.loosest.worst)
    assert found.crossing is None


def test_hold_margin_is_one_without_sprays(line: Scenario) -> None:
    margin = quantity("hold_margin").of
    assert margin(sweep(line, "fill", (0.9,), "drain", "a").rows[0].answer) == 1.0
    sprayed = sweep(line, "pressure-below", (0.0, 0.1), "wash", "a").rows
    assert margin(sprayed[1].answer) < margin(sprayed[0].answer)


def test_the_top_wire_moves_and_the_others_stay(line: Scenario) -> None:
    assert line.stages[0].guides.wires.heights_mm[:-1] == (48.0,)
    for below in (30.0, 48.0):
        with pytest.raises(InputError, match=r"wire-height.*more than 48 mm: the other wires stay"):
            knob("wire-height").set(line, 0, below)
    high = knob("wire-height").set(line, 0, 100.0).stages[0].guides.wires.heights_mm
    assert high == (48.0, 100.0)


def test_what_a_sweep_refuses(line: Scenario) -> None:
    for over, values, stage, size, key in (
        ("width", (1.0,), "wash", "a", "over"),
        ("fill", (0.9,), "soak", "a", "stage"),
        ("fill", (0.9,), "wash", "c", "size"),
        ("fill", (), "wash", "a", "steps"),
        ("fill", tuple(range(MAX_STEPS + 1)), "wash", "a", "steps"),
        ("fill", (0.9, 0.9), "wash", "a", "values"),
        ("fill", (0.9, 0.8), "wash", "a", "values"),
        ("fill", (0.9, 1.1), "wash", "a", "fill.fill"),
        ("clear-width", (math.nan,), "wash", "a", "value"),
        ("tension", (-1.0,), "wash", "a", "tension.tension_N"),
    ):
        with pytest.raises(InputError) as caught:
            sweep(line, over, values, stage, size)
        assert caught.value.key == key


@pytest.mark.parametrize("name", ["pressure", "pressure-above", "pressure-below"])
def test_a_pressure_no_header_has_is_refused(line: Scenario, name: str) -> None:
    """A flat line would look like an answer."""
    with pytest.raises(InputError, match="header"):
        sweep(line, name, (0.1, 0.2), "drain", "a")


def test_progress_and_the_governing_stage(line: Scenario) -> None:
    seen: list[tuple[int, int]] = []
    sweep(line, "fill", (0.8, 0.9), "wash", "a", lambda done, of: seen.append((done, of)))
    assert seen == [(1, 2), (2, 2)]
    safes = {
        s.name: answer_stage(line, line.stages[i].name, "a").tipping.safe.slack_mm
        for i, s in enumerate(line.stages)
    }
    assert governing_stage(line, "a") == min(safes, key=lambda name: safes[name])
