"""Answers at many values of every input are those worked out one by one, sprays nearly so."""

from __future__ import annotations

import numpy as np
import pytest

from packsim import answer_stage, load_scenario
from packsim.answers.answer_inputs import OF_CAN, InputAnswers, as_it_is
from packsim.errors import InputError
from packsim.line import Scenario, with_value
from packsim.tipping.safe_slack import SafeSlack

LINES = {
    name: load_scenario(f"scenarios/{name}.toml")
    for name in ("first_look", "swing_line", "imperial_line", "oven_lane")
}
DRY = [
    ("first_look", "wash", "211 body"),
    ("swing_line", "drain", "211 body"),
    ("swing_line", "drain", "sleek body"),
    ("oven_lane", "cooling", "16 oz"),
]
WET = [
    ("swing_line", "pre-rinse", "211 body"),
    ("swing_line", "wash", "211 body"),
    ("swing_line", "rinse", "sleek body"),
    ("imperial_line", "treatment", "211 body"),
]
WET_ONCE = [*(pytest.param(case, marks=pytest.mark.all) for case in WET[:3]), WET[3]]
"""One of them in the usual tests."""


def changed(line: Scenario, values: dict[str, np.ndarray], k: int) -> Scenario:
    """The line with every input at one of its values."""
    for key, each in values.items():
        line = with_value(line, key, float(each[k]))
    return line


def drawn(near: InputAnswers, count: int, seed: int) -> dict[str, np.ndarray]:
    """Values of every input from its range."""
    rng = np.random.default_rng(seed)
    return {
        one.key: rng.integers(0, len(one.choices), count).astype(float)
        if one.choices
        else rng.uniform(one.low, one.high, count)
        for one in near.inputs
    }


@pytest.mark.parametrize("case", DRY, ids=str)
def test_without_sprays_every_number_is_that_of_a_single_answer(case):
    name, stage, size = case
    near = InputAnswers(LINES[name], stage, size)
    values = drawn(near, 30, 1)
    found = near.answers(values)
    for k in range(30):
        alone = answer_stage(changed(LINES[name], values, k), stage, size)
        safe: SafeSlack = alone.tipping.safe
        assert found.lanes[k] == alone.pack.lanes
        assert found.loosest_slack_mm[k] == pytest.approx(alone.budget.loosest_mm, abs=1e-9)
        assert found.least_slack_mm[k] == pytest.approx(alone.budget.tightest_mm, abs=1e-9)
        assert found.safe_slack_mm[k] == pytest.approx(safe.slack_mm, rel=1e-9)
        assert found.tip_index[k] == pytest.approx(alone.tipping.loosest.worst, rel=1e-9)
        assert found.window_width_mm[k] == pytest.approx(alone.window.width_mm, abs=1e-9)
        assert found.verdict[k] == alone.tipping.verdict


@pytest.mark.parametrize("case", WET_ONCE, ids=str)
def test_under_sprays_angles_are_near_and_verdicts_turn_alike(case):
    name, stage, size = case
    near = InputAnswers(LINES[name], stage, size)
    values = drawn(near, 60, 2)
    found, off, other = near.answers(values), [], 0
    for k in range(60):
        alone = answer_stage(changed(LINES[name], values, k), stage, size)
        assert found.loosest_slack_mm[k] == pytest.approx(alone.budget.loosest_mm, abs=1e-9)
        off.append(float(found.balance_rad[k] - alone.worst.balance_rad))
        other += found.verdict[k] != alone.tipping.verdict
    # the angles themselves are within 0.25 degrees, see packsim/spray/worst_moments.py
    assert np.degrees(np.sqrt(np.mean(np.square(off)))) < 0.25
    assert abs(np.degrees(np.mean(off))) < 0.15
    assert other <= 2


@pytest.mark.parametrize("case", [*DRY, *WET_ONCE], ids=str)
def test_one_input_at_an_end_is_the_answer_there(case):
    name, stage, size = case
    line, near = LINES[name], InputAnswers(LINES[name], stage, size)
    kept = {}
    for one in near.inputs:
        alike = one.key.split("headers[")[0], one.key.rpartition(".")[2]
        if kept.setdefault(alike, one.key) != one.key:
            continue  # headers alike: one of them
        ends = np.array([one.low, one.high])
        found = near.answers({one.key: ends})
        for k, end in enumerate(ends):
            alone = answer_stage(with_value(line, one.key, float(end)), stage, size)
            assert found.loosest_slack_mm[k] == pytest.approx(alone.budget.loosest_mm, abs=1e-9)
            near_by = np.degrees(found.balance_rad[k] - alone.worst.balance_rad)
            assert abs(near_by) < 0.3, one.key


@pytest.mark.parametrize("case", [*DRY, *WET], ids=str)
def test_what_is_no_input_changes_no_answer(case):
    name, stage, size = case
    line, near = LINES[name], InputAnswers(LINES[name], stage, size)
    known = {one.key for one in near.inputs}
    now = answer_stage(line, stage, size)
    i, j = line.stages.index(line.stage(stage)), line.sizes.index(line.size(size))
    for one in line.ranges:
        here = f"stages[{i}]", f"sizes[{j}]", "mat", "guides", "headers"
        if one.key in known or one.exact or not one.key.startswith(here):
            continue
        other = answer_stage(with_value(line, one.key, one.high), stage, size)
        assert other.tipping.verdict == now.tipping.verdict, one.key
        assert other.tipping.loosest.worst == now.tipping.loosest.worst, one.key
        assert other.window.width_mm == pytest.approx(now.window.width_mm, abs=1e-9), one.key


def test_as_it_is_every_input_leaves_the_answer():
    line = LINES["swing_line"]
    for stage in ("wash", "blow-off", "drain"):
        near, now = InputAnswers(line, stage, "211 body"), answer_stage(line, stage, "211 body")
        found = near.answers({one.key: np.array([as_it_is(one)]) for one in near.inputs})
        assert found.verdict[0] == now.tipping.verdict
        assert found.loosest_slack_mm[0] == pytest.approx(now.budget.loosest_mm, abs=1e-9)
        assert found.safe_slack_mm[0] == pytest.approx(now.tipping.safe.slack_mm, abs=0.3)


def test_what_cannot_be_asked_is_refused():
    near = InputAnswers(LINES["first_look"], "wash", "211 body")
    with pytest.raises(InputError, match="no input of this answer"):
        near.answers({"mat.speed": np.ones(2)})
    with pytest.raises(InputError, match="one length"):
        near.answers({"sizes[0].mass": np.ones(2), "sizes[0].height": np.ones(3)})
    with pytest.raises(InputError, match="one of wash"):
        _ = InputAnswers(LINES["first_look"], "rinse", "211 body").inputs
    assert set(OF_CAN) >= {"diameter_mm", "mass_kg"}
