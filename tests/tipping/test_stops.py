from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from packsim.can import Stance
from packsim.errors import InputError
from packsim.tipping.stops import (
    clearance_limit_mm,
    hold_down,
    meeting_lean_rad,
    rise_mm,
    wire_lean_rad,
)
from packsim.tipping.worst_direction import on_wire_rad

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
WET = Stance(66.09, 124.3, 0.0187, 94.8)


def top_of_tilted_can_mm(stance: Stance, lean_rad: float) -> float:
    """Highest point of the solid, by turning its rims in space."""
    turn = np.linspace(0.0, 2.0 * math.pi, 721)
    across = stance.radius_mm * np.cos(turn)
    from_pivot = across - stance.radius_mm
    return max(
        float(np.max(-from_pivot * math.sin(lean_rad) + z * math.cos(lean_rad)))
        for z in (0.0, stance.height_mm)
    )


@pytest.mark.parametrize("lean", [0.0, 0.05, 0.2, 0.4, 0.8, 1.4])
def test_rise_is_that_of_the_tilted_solid(lean: float) -> None:
    assert rise_mm(CAN, lean) == pytest.approx(top_of_tilted_can_mm(CAN, lean) - 124.3, abs=1e-9)


def test_three_four_five() -> None:
    # 2R : H = 60 : 80, so at atan(3/4) the can stands on its diagonal of 100
    squat = Stance(60.0, 80.0, 0.01, 40.0)
    assert rise_mm(squat, math.atan2(60.0, 80.0)) == pytest.approx(20.0, abs=1e-12)
    assert meeting_lean_rad(squat, 100.0) == pytest.approx(math.atan2(60.0, 80.0), abs=1e-7)


@given(st.floats(1e-6, 16.4))
def test_meeting_lean_solves_the_rise(clearance: float) -> None:
    lean = meeting_lean_rad(CAN, CAN.height_mm + clearance)
    assert rise_mm(CAN, lean) == pytest.approx(clearance, rel=1e-6, abs=1e-9)
    peak = math.atan2(66.09, 124.3)
    root = brentq(lambda x: rise_mm(CAN, x) - clearance, 0.0, peak, xtol=1e-14)
    assert lean == pytest.approx(root, abs=1e-9)


@given(st.floats(0.01, 30.0), st.floats(0.01, 30.0))
def test_a_higher_mat_is_met_later(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert meeting_lean_rad(CAN, 124.3 + low) <= meeting_lean_rad(CAN, 124.3 + high)


def test_states_cover_every_clearance() -> None:
    limit = clearance_limit_mm(CAN)
    assert limit == pytest.approx(rise_mm(CAN, CAN.balance_angle_rad), abs=1e-12)
    for clearance, state in (
        (-0.5, "crushes"),
        (0.0, "blocks"),
        (limit - 0.01, "blocks"),
        (limit + 0.01, "too high"),
        (math.hypot(66.09, 124.3) - 124.3 + 0.01, "never touches"),
    ):
        answer = hold_down(CAN, CAN.height_mm + clearance)
        assert answer.state == state
        assert answer.blocks == (state == "blocks")
        assert answer.clearance_mm == pytest.approx(clearance, abs=1e-9)
        assert answer.reason


def test_blocks_exactly_when_the_meeting_lean_is_below_balance() -> None:
    for clearance in np.linspace(0.01, 16.4, 97):
        answer = hold_down(CAN, 124.3 + float(clearance))
        assert answer.blocks == (answer.meets_rad < CAN.balance_angle_rad)


def test_a_low_centre_of_gravity_must_pass_the_peak_first() -> None:
    low = Stance(66.0, 80.0, 0.01, 20.0)  # balance angle beyond the diagonal
    assert low.balance_angle_rad > math.atan2(66.0, 80.0)
    assert clearance_limit_mm(low) == pytest.approx(math.hypot(66.0, 80.0) - 80.0, abs=1e-12)


def test_a_full_dome_or_a_load_asks_for_a_lower_mat() -> None:
    assert clearance_limit_mm(WET) < clearance_limit_mm(CAN)
    assert clearance_limit_mm(CAN, 0.2) < clearance_limit_mm(CAN)
    assert clearance_limit_mm(CAN, 0.0) == 0.0
    assert hold_down(CAN, 124.3, 0.0).state == "too high"  # a load has it over at once


def test_must_be_reset_for_another_height() -> None:
    # common practice, no source: the hold-down is reset whenever the can height changes
    tall = Stance(66.09, 168.0, 0.0125, 99.0)
    short = Stance(66.09, 91.0, 0.0090, 55.0)
    height = 124.3 + 5.0
    assert hold_down(CAN, height).state == "blocks"
    assert hold_down(tall, height).state == "crushes"
    assert hold_down(short, height).state == "never touches"


def test_bad_heights_are_refused() -> None:
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(InputError, match="hold_down_mm"):
            hold_down(CAN, bad)


@given(
    st.floats(-1.0, 130.0),
    st.floats(-1.0, 1.0),
    st.lists(st.floats(1.0, 130.0), min_size=1, max_size=3),
)
def test_a_wire_stops_one_can_of_the_inner_loops_as_it_stops_many(gap, cos_off, wires) -> None:
    one = on_wire_rad(gap, cos_off, np.array(wires), CAN.height_mm)
    many = wire_lean_rad([gap, 5.0], wires, CAN.height_mm, cos_off)
    assert one == pytest.approx(many[0], rel=1e-14)
