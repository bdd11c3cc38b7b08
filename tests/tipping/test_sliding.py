"""Sliding against published ladders and the three equations of statics solved as they stand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.errors import InputError
from packsim.tipping.sliding import (
    least_friction,
    slide_limit_rad,
    sliding,
)

CAN = Stance(66.0, 124.0, 0.0102, 74.0)
LADDER = Stance(1e-9, 124.0, 0.0102, 62.0)  # no width, even mass


def ladder_limit_rad(floor, wall=0.0):
    """Most a uniform ladder may lean before it slips, atan(2μ₁/(1 − μ₁μ₂)): any statics text."""
    product = floor * wall
    return math.pi / 2.0 if product >= 1.0 else math.atan2(2.0 * floor, 1.0 - product)


def test_published_ladders(published):
    row = published["R12"]
    assert row.agrees(90.0 - math.degrees(ladder_limit_rad(row.inputs["mu"])))
    row = published["R13"]
    assert row.agrees(math.degrees(ladder_limit_rad(row.inputs["mu"])))
    row = published["R14"]
    mu = row.inputs["mu"]
    assert row.agrees(math.degrees(ladder_limit_rad(mu, mu)))
    row = published["R15"]
    lean = ladder_limit_rad(row.inputs["mu1"], row.inputs["mu2"])
    assert row.agrees(90.0 - math.degrees(lean))


def test_published_tip_before_slide(published):
    block = Stance(50.0, 100.0, 1.0, 50.0)  # half as wide as high
    assert published["R02"].agrees(math.degrees(block.balance_angle_rad))
    friction = published["R03"].inputs["mu"]
    assert published["R03"].agrees(math.degrees(math.atan(friction)))


@given(st.floats(0.0, 1.5), st.floats(0.0, 1.5))
def test_a_can_without_width_is_a_ladder(mat, side):
    limit = slide_limit_rad(LADDER, mat, side_friction=side)
    assert limit == pytest.approx(ladder_limit_rad(mat, side), abs=1e-8)


def statics(lean, contact, normal, along, side):
    """Rim forces (level, upright) and push by the three equations; side friction fully used."""
    weight_arm = CAN.cg_mm * math.sin(lean) - CAN.radius_mm * math.cos(lean)
    force = np.array(normal) + side * np.array(along)  # on the can, for a unit push
    moment = contact[0] * force[1] - contact[1] * force[0]
    matrix = np.array([[1.0, 0.0, force[0]], [0.0, 1.0, force[1]], [0.0, 0.0, moment]])
    return np.linalg.solve(matrix, np.array([0.0, 1.0, weight_arm]))


@given(st.floats(0.45, 1.45), st.floats(0.0, 0.8))
def test_on_a_neighbour_against_statics(lean, side):
    sin, cos = math.sin(lean), math.cos(lean)
    top = (CAN.height_mm * sin, CAN.height_mm * cos)
    level, upright, push = statics(lean, top, (-1.0, 0.0), (0.0, 1.0), side)
    assert push > 0.0
    assume(upright > 1e-6)
    assert least_friction(CAN, lean, side_friction=side) == pytest.approx(level / upright)


@given(st.floats(0.45, 1.3), st.floats(0.2, 0.99), st.floats(0.0, 0.5))
def test_on_a_wire_against_statics(lean, share, side):
    sin, cos = math.sin(lean), math.cos(lean)
    z = share * CAN.height_mm * cos
    touch = (z * math.tan(lean), z)
    level, upright, push = statics(lean, touch, (-cos, sin), (sin, cos), side)
    assert push > 0.0
    assume(level > 1e-6)
    got = least_friction(CAN, lean, wire_height_mm=z, side_friction=side)
    assert got == (pytest.approx(level / upright) if upright > 0.0 else math.inf)


@given(st.floats(0.0, 2.0), st.floats(0.0, 1.0), st.sampled_from([None, 60.0, 90.0]))
def test_limit_parts_resting_from_slipping(mat, side, wire):
    limit = slide_limit_rad(CAN, mat, wire_height_mm=wire, side_friction=side)
    assert limit >= CAN.balance_angle_rad - 1e-9
    at = {"wire_height_mm": wire, "side_friction": side}
    assert least_friction(CAN, max(0.0, limit - 1e-6), **at) <= mat + 1e-9
    if limit < math.pi / 2.0 - 1e-3:
        assert least_friction(CAN, limit + 1e-4, **at) > mat - 1e-9


@given(st.floats(0.0, 2.0), st.floats(0.0, 1.0))
def test_more_friction_never_slips_sooner(mat, more):
    for wire in (None, 80.0):
        low, high = (
            slide_limit_rad(CAN, friction, wire_height_mm=wire) for friction in (mat, mat + more)
        )
        assert high >= low - 1e-9


def test_no_friction_slips_at_the_balance_angle():
    assert slide_limit_rad(CAN, 0.0) == pytest.approx(CAN.balance_angle_rad)
    assert slide_limit_rad(CAN, 0.0, wire_height_mm=80.0) == pytest.approx(
        CAN.balance_angle_rad, abs=3e-3
    )


def test_wire_out_of_reach_holds_nothing():
    assert least_friction(CAN, 0.6, wire_height_mm=120.0) == math.inf
    limit = slide_limit_rad(CAN, 5.0, wire_height_mm=100.0)
    assert limit == pytest.approx(math.acos(100.0 / 124.0), abs=1e-9)  # its top passes under


def test_outcomes():
    balance = CAN.balance_angle_rad
    back, rest, out = (sliding(CAN, lean, 0.3) for lean in (0.9 * balance, 1.2 * balance, 1.2))
    assert (back.outcome, rest.outcome, out.outcome) == ("falls back", "rests", "slides out")
    assert back.friction_needed == 0.0
    assert 0.0 < rest.friction_needed <= 0.3
    assert out.friction_needed > 0.3
    assert out.lean_rad > out.limit_rad


def test_wet_friction_near_one_keeps_a_can_leaning():
    """Cleaned cans grip (patent claims quote static coefficients near 1): bridges stay."""
    assert sliding(CAN, math.radians(45.0), 1.0).outcome == "rests"
    assert sliding(CAN, math.radians(45.0), 0.2).outcome == "slides out"


def test_bad_values_are_refused():
    with pytest.raises(InputError, match="lean_rad"):
        least_friction(CAN, -0.1)
    with pytest.raises(InputError, match="mat_friction"):
        slide_limit_rad(CAN, -0.1)


def test_a_side_that_just_carries_a_can_lets_it_lie_level_and_no_further():
    """h − n μ₂ H is half a millimetre below 0: past a right angle there is no lean."""
    held = (CAN.cg_mm + 0.5) / CAN.height_mm
    assert slide_limit_rad(CAN, held / (1.0 - held), side_friction=1.0) == math.pi / 2.0
