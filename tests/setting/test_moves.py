"""Where brackets, wires and hold-downs can be set: whole steps of the rule, within reach."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.line import KnownSetting, Stage
from packsim.line.guides import Reach
from packsim.setting.moves import (
    HALF,
    BracketMove,
    HoldDownMove,
    WireMove,
    hold_down_for,
    on_mark,
    on_marks,
)
from tests.small_line import BIG, SMALL, TALL, small_stage

SAME = "same clearance over the can tops"


@pytest.mark.parametrize("step_mm", [0.0, 5e-324, 1e-300])
def test_a_step_finer_than_a_width_can_tell_leaves_the_setting_as_it_is(step_mm: float) -> None:
    left, right = on_marks((700.3, 500.0), (699.0, 702.0), Reach(1000.0, 0.0, 400.0), step_mm)
    assert left == right == pytest.approx((1000.0 - 700.3) / 2.0)
    left, right = on_marks((700.0, 510.0), (699.0, 702.0), Reach(1000.0, 0.0, 400.0), step_mm)
    assert (left, right) == (160.0, 140.0)
    assert on_mark(90.3, step_mm, lambda z: True) == 90.3


def test_a_height_goes_to_the_nearest_mark_that_is_good() -> None:
    assert on_mark(90.3, 0.5, lambda z: True) == 90.5
    assert on_mark(90.2, 0.5, lambda z: True) == 90.0
    assert on_mark(90.3, 0.5, lambda z: z < 90.4) == 90.0
    assert on_mark(90.2, 0.5, lambda z: z > 90.2) == 90.5
    assert on_mark(90.2, 0.5, lambda z: False) == 90.2


@given(
    aim=st.integers(1500, 9000),
    below=st.integers(0, 400),
    above=st.integers(0, 400),
    middle=st.integers(1600, 2400),
    step=st.sampled_from([2.0, 5.0, 10.0, 25.4]),
    near=st.integers(0, 300),
    travel=st.integers(0, 200),
)
@example(aim=7900, below=200, above=200, middle=2160, step=2.0, near=100, travel=200)
@example(aim=6800, below=400, above=400, middle=2000, step=5.0, near=175, travel=25)
def test_marks_are_the_best_of_all_pairs(
    aim: int, below: int, above: int, middle: int, step: float, near: int, travel: int
) -> None:
    """Near the middle of the window, then about the middle aimed at, then near the width."""
    width, aside = aim / 10.0, middle / 2.0 - 1000.0
    low, high = width - below / 10.0, width + above / 10.0
    marks = [k * step for k in range(501) if near - 1e-9 <= k * step <= near + travel + 1e-9]

    def cost(left: float, right: float) -> tuple[float, float, float]:
        off = abs(1000.0 - left - right - width)
        return max(0.0, off - (high - low) / 4.0), abs(left - right - aside), off

    good = [
        cost(left, right)
        for left, right in product(marks, marks)
        if low - 1e-9 <= 1000.0 - left - right <= high + 1e-9
    ]
    reach = Reach(1000.0, near * 1.0, near + travel * 1.0)
    found = on_marks((width, middle / 4.0), (low, high), reach, step)
    assert (found is None) == (not good)
    if found:
        best = min(tuple(round(c, 6) for c in one) for one in good)
        assert [round(c, 6) for c in cost(*found)] == pytest.approx(best, abs=2e-6)


def hung(height_mm: float, **more: object) -> Stage:
    return small_stage(hold_down_mm=height_mm, **more)


def limit_mm(stance: Stance, balance_rad: float) -> float:
    """Rise of the top's far corner when the can stands on its rim at balance."""
    lean = min(balance_rad, math.atan(2.0 * stance.radius_mm / stance.height_mm))
    return (
        stance.height_mm * math.cos(lean) + 2.0 * stance.radius_mm * math.sin(lean)
    ) - stance.height_mm


BALANCE = math.atan(26.0 / 80.0)


@pytest.mark.parametrize(
    ("now", "step", "want", "why"),
    [
        (125.0, 0.5, 145.0, SAME),  # 5 mm over the tops, as before
        (125.3, 0.5, 145.5, SAME),
        (120.2, 0.5, 140.5, SAME),  # never on the tops themselves
        (120.0, 0.1, None, HALF),
        (119.0, 0.1, None, HALF),
        (150.0, 0.1, None, HALF),
    ],
)
def test_a_hold_down_keeps_its_clearance_where_that_holds_cans(
    now: float, step: float, want: float | None, why: str
) -> None:
    stance = TALL.stance(0.0)
    most = limit_mm(stance, BALANCE)
    assert 5.3 < most < 30.0
    half = round((140.0 + most / 2.0) / step) * step
    found = hold_down_for(hung(now), SMALL, TALL, stance, BALANCE, step)
    assert found == HoldDownMove(
        now, pytest.approx(want or half), pytest.approx((want or half) - 140.0), why
    )


def test_a_hold_down_stays_for_a_can_as_high_and_where_there_is_none() -> None:
    stance = SMALL.stance(0.0)
    assert hold_down_for(hung(125.3), BIG, SMALL, stance, 0.3, 0.5) == HoldDownMove(
        125.3, 125.3, pytest.approx(5.3), SAME
    )
    assert hold_down_for(small_stage(), BIG, SMALL, stance, 0.3, 0.5) is None


def test_where_sprays_turn_a_can_over_the_hold_down_is_as_for_none() -> None:
    stance = TALL.stance(0.0)
    own = hold_down_for(hung(125.0), SMALL, TALL, stance, 0.0, 0.0)
    assert own == HoldDownMove(125.0, 145.0, 5.0, SAME)
    high = hold_down_for(hung(200.0), SMALL, TALL, stance, 0.0, 0.0)
    assert high is not None
    assert high.clearance_mm == pytest.approx(limit_mm(stance, BALANCE) / 2.0)


def test_a_height_on_record_is_taken_for_another_size() -> None:
    stage = hung(125.0)
    known = KnownSetting("tall", stage.guides.brackets, hold_down_mm=149.3)
    stage = replace(stage, settings=(known,))
    found = hold_down_for(stage, SMALL, TALL, TALL.stance(0.0), BALANCE, 0.5)
    assert found == HoldDownMove(125.0, 149.3, pytest.approx(9.3), "height on record for this size")
    same = hold_down_for(replace(stage, hold_down_mm=145.0), TALL, TALL, TALL.stance(0.0), 0.3, 0.5)
    assert same == HoldDownMove(145.0, 145.0, 5.0, SAME)
    unnoted = replace(stage, settings=(replace(known, hold_down_mm=None),))
    found = hold_down_for(unnoted, SMALL, TALL, TALL.stance(0.0), BALANCE, 0.5)
    assert found is not None
    assert found.why == SAME


def test_moves_in_words() -> None:
    assert [BracketMove("w", 0.0, "left", 100.0, at).direction for at in (90.0, 100.0, 120.0)] == [
        "out", "stay", "in"]  # fmt: skip
    assert [WireMove(40.0, at).direction for at in (30.0, 40.0, 50.0)] == ["down", "stay", "up"]
    assert (WireMove(None, 50.0).direction, WireMove(None, 50.0).move_mm) == ("add", 0.0)
    assert WireMove(40.0, 31.0).move_mm == 9.0


def test_a_side_as_near_as_it_goes_holds_the_pass_off_its_middle() -> None:
    """A pass aimed 40 mm aside: the right side stops at 100 mm, one step more width is free."""
    reach = Reach(1000.0, 100.0, 400.0)
    assert on_marks((790.0, 540.0), (788.0, 792.0), reach, 1.0) == (111.0, 100.0)
    assert on_marks((790.0, 460.0), (788.0, 792.0), reach, 1.0) == (100.0, 111.0)
