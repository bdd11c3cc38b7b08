"""How finely a repeat looks changes the chance by no more than the error it states."""

from __future__ import annotations

import math

import numpy as np
import pytest

from packsim.chance import sample
from packsim.chance.keep import Passage
from packsim.chance.line_chance import _settled
from packsim.chance.rate import Rate, rate_of
from packsim.chance.sample import Plan
from packsim.line import Kicks, Mat, Scenario
from packsim.passage.track import build_track
from tests.passage.conftest import CAN, lane_width, make_stage


def rate(plan: Plan, kick: float = 0.07) -> Rate:
    """Ten seconds of six lanes that drift to the right; about ten tips per million."""
    kicks = Kicks(0.07, 2.0, 0.6, 3.0)
    stage = make_stage("one", width=lane_width(6) + 54.0, kicks=kicks, fill=0.95, length=900.0)
    scenario = Scenario("convergence", "", Mat(1600.0, 90.0), (stage,), (CAN,), CAN.name)
    passage = Passage.along(build_track(scenario, CAN))
    return _settled(passage, 11, {"one": kick}, 0.2, plan, None).line


@pytest.fixture(scope="module")
def usual() -> Rate:
    return rate(Plan(cans=120))


@pytest.mark.parametrize(
    "plan",
    [
        Plan(cans=120, dt_s=0.1),
        Plan(cans=120, dt_s=0.4),
        Plan(cans=60, slice_mm=300.0),
        Plan(cans=240),
        Plan(cans=120, look_mm=70.0),
    ],
    ids=["shorter steps", "longer steps", "shorter slice", "longer slice", "more looks"],
)
def test_steps_slices_and_looks(usual, plan) -> None:
    assert_same(usual, rate(plan))


@pytest.mark.parametrize("step", [3.75, 15.0])
def test_number_of_directions(usual, step, monkeypatch) -> None:
    monkeypatch.setattr(sample, "ARCS_RAD", np.radians(np.arange(0.0, 360.1, step)))
    assert_same(usual, rate(Plan(cans=120)))


@pytest.mark.parametrize("kick", [0.07, 1.0])
def test_high_barriers_of_which_only_some_are_followed(kick, monkeypatch) -> None:
    some = rate(Plan(cans=120), kick)
    monkeypatch.setattr(sample, "FOLLOWED", sample.CEILING)
    assert_same(some, rate(Plan(cans=120), kick))


def assert_same(usual: Rate, other: Rate) -> None:
    assert usual.tips_per_million > 0.1
    error = math.hypot(usual.error, other.error)
    assert error < 0.3
    assert abs(math.log(other.tips_per_million / usual.tips_per_million)) < 2.6 * error


@pytest.mark.parametrize("spread", [0.3, 1.0, 2.0])
@pytest.mark.parametrize("count", [4, 12])
def test_the_interval_holds_the_mean_of_skewed_repeats(spread, count) -> None:
    rng = np.random.default_rng(6)
    held = 0
    for row in np.exp(spread * rng.standard_normal((600, count))):
        low, high = rate_of(row).interval
        held += low <= math.exp(spread**2 / 2.0) <= high
    assert held / 600 > 0.88


def test_repeats_without_any_tip() -> None:
    assert rate_of(np.zeros(4)).interval == (0.0, 0.0)
    one = rate_of(np.array([0.0, 0.0, 0.0, 8.0]))
    assert (one.tips_per_million, one.error) == (2.0, 1.0)
    assert one.interval[0] < 0.2
    assert one.interval[1] > 40.0
    assert one.cans_counting_would_need == pytest.approx(5e5)
