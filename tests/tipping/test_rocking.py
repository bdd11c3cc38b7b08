"""Rocking against published values, an integrated equation of motion and point masses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from packsim.can import Stance
from packsim.constants import GRAVITY_M_PER_S2
from packsim.errors import InputError
from packsim.tipping.rocking import (
    Rocker,
    can_rocker,
    onset_acceleration_mm_per_s2,
    overturning_impulse_N_s,
    overturning_speed_mm_per_s,
    quarter_period_s,
    restitution,
    rocking,
)

CAN = Stance(66.0, 124.0, 0.0102, 74.0)
ROCKER = can_rocker(CAN)


def block_rocker(width_mm, height_mm):
    """Solid rectangular block about a bottom edge, I₀ = 4/3 m ρ²."""
    half, middle = width_mm / 2.0, height_mm / 2.0
    return Rocker(1.0, half, middle, 4.0 / 3.0 * (half**2 + middle**2))


def test_mallet(published):
    row = published["R04"]
    block = block_rocker(1000.0 * row.inputs["b_m"], 1000.0 * row.inputs["a_m"])
    assert row.agrees(overturning_speed_mm_per_s(block) / 1000.0)


def test_housner_quarter_period(published):
    row = published["R07"]
    block = block_rocker(2000.0 * row.inputs["b_m"], 2000.0 * row.inputs["h_m"])  # half sides
    start = row.inputs["theta0_over_alpha"] * block.balance_angle_rad
    assert row.agrees(quarter_period_s(block, start))
    assert published["R08"].agrees(quarter_period_s(block, start) * block.rate_per_s)


def test_block_restitution(published):
    row = published["R09"]
    alpha = math.radians(row.inputs["alpha_deg"])
    block = block_rocker(100.0 * math.tan(alpha), 100.0)
    assert row.agrees(restitution(block))
    arm = block.mass_kg * block.arm_mm**2 / block.inertia_kg_mm2
    housner = (1.0 - arm * (1.0 - math.cos(2.0 * alpha))) ** 2
    assert restitution(block) ** 2 == pytest.approx(housner)


def test_west(published):
    row = published["R11"]
    block = block_rocker(row.inputs["b"], row.inputs["h"])
    assert row.agrees(onset_acceleration_mm_per_s2(block) / (1000.0 * GRAVITY_M_PER_S2))


def landing_s(rocker, start):
    """Time to lean 0 by integrating I θ'' = −m g ρ (α − θ), Housner's small angles."""
    alpha, p2 = rocker.balance_angle_rad, rocker.rate_per_s**2

    def motion(_, y):
        return [y[1], -p2 * (alpha - y[0])]

    def landed(_, y):
        return y[0]

    landed.terminal = True
    run = solve_ivp(motion, (0.0, 20.0), [start, 0.0], events=landed, rtol=1e-11, atol=1e-13)
    return run.t_events[0][0]


@pytest.mark.parametrize("rocker", [ROCKER, block_rocker(200.0, 1000.0)])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_quarter_period_against_integration(rocker, share):
    start = share * rocker.balance_angle_rad
    assert quarter_period_s(rocker, start) == pytest.approx(landing_s(rocker, start), rel=1e-8)


def reaches_balance(rocker, speed_mm_per_s):
    """Kick the base and integrate the full equation until it stops rising or passes balance."""
    spin = rocker.mass_kg * rocker.cg_mm * speed_mm_per_s / rocker.inertia_kg_mm2
    alpha, p2 = rocker.balance_angle_rad, rocker.rate_per_s**2

    def motion(_, y):
        return [y[1], -p2 * math.sin(alpha - y[0])]

    def balanced(_, y):
        return y[0] - alpha

    def stopped(_, y):
        return y[1]

    balanced.terminal = stopped.terminal = True
    run = solve_ivp(
        motion, (0.0, 20.0), [0.0, spin], events=(balanced, stopped), rtol=1e-10, atol=1e-12
    )
    return len(run.t_events[0]) > 0


@pytest.mark.parametrize("rocker", [ROCKER, block_rocker(300.0, 1000.0)])
def test_overturning_speed_parts_falling_from_standing(rocker):
    speed = overturning_speed_mm_per_s(rocker)
    assert reaches_balance(rocker, 1.0005 * speed)
    assert not reaches_balance(rocker, 0.9995 * speed)


def test_kick_speed_and_energy_are_one_thing():
    kick = overturning_impulse_N_s(ROCKER, ROCKER.cg_mm)
    assert kick == pytest.approx(ROCKER.mass_kg * overturning_speed_mm_per_s(ROCKER) / 1000.0)
    assert overturning_impulse_N_s(ROCKER, 2.0 * ROCKER.cg_mm) == pytest.approx(kick / 2.0)
    spin = kick * 1000.0 * ROCKER.cg_mm / ROCKER.inertia_kg_mm2
    energy_mJ = 0.5 * ROCKER.inertia_kg_mm2 * spin**2 / 1000.0
    lift = math.hypot(33.0, 74.0) - 74.0
    assert energy_mJ == pytest.approx(CAN.weight_N * lift)


@pytest.mark.parametrize("cg_mm", [40.0, 62.0, 74.0, 100.0])
def test_inertia_against_point_masses(cg_mm):
    stance = Stance(66.0, 124.0, 1.0, cg_mm)
    turn = (np.arange(360) + 0.5) * math.pi / 180.0
    z = (np.arange(400) + 0.5) * 124.0 / 400.0
    lean = 2.0 * cg_mm / 124.0 - 1.0
    x = 33.0 * np.cos(turn)
    wall = np.mean((x[:, None] - 33.0) ** 2 + z[None, :] ** 2)
    radius = 33.0 * np.sqrt((np.arange(400) + 0.5) / 400.0)  # even over a disc
    disc = np.mean((radius[:, None] * np.cos(turn)[None, :] - 33.0) ** 2) + 124.0**2
    ring = np.mean((x - 33.0) ** 2)
    expected = (1.0 - abs(lean)) * wall + abs(lean) * (disc if lean > 0.0 else ring)
    rocker = can_rocker(stance)
    assert rocker.inertia_kg_mm2 == pytest.approx(expected, rel=1e-5)
    assert rocker.balance_angle_rad == stance.balance_angle_rad


@given(st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_scaling(k, m):
    """Lengths by k, masses by m: times by √k, speeds by √k."""
    big = can_rocker(Stance(66.0 * k, 124.0 * k, 0.0102 * m, 74.0 * k))
    start = 0.4 * ROCKER.balance_angle_rad
    root = math.sqrt(k)
    assert quarter_period_s(big, start) == pytest.approx(root * quarter_period_s(ROCKER, start))
    assert overturning_speed_mm_per_s(big) == pytest.approx(
        root * overturning_speed_mm_per_s(ROCKER)
    )
    assert restitution(big) == pytest.approx(restitution(ROCKER))


def test_full_dome_topples_at_a_smaller_speed_step():
    can = Stance(66.0, 124.0, 0.0187, 90.0)  # pool on top: heavier, higher
    assert overturning_speed_mm_per_s(can_rocker(can)) < overturning_speed_mm_per_s(ROCKER)


def test_bad_values_are_refused():
    with pytest.raises(InputError, match="inertia_kg_mm2"):
        Rocker(1.0, 30.0, 70.0, 5000.0)
    with pytest.raises(InputError, match="start_rad"):
        quarter_period_s(ROCKER, ROCKER.balance_angle_rad)


def test_a_can_rocks_from_half_its_balance_angle() -> None:
    stance = CAN
    found = rocking(stance, stance.balance_energy_mJ)
    assert found.start_rad == stance.balance_angle_rad / 2.0
    quarter = quarter_period_s(can_rocker(stance), stance.balance_angle_rad / 2.0)
    assert found.period_s == pytest.approx(4.0 * quarter)
    assert found.sprayed_speed_mm_per_s == found.speed_mm_per_s
    half = rocking(stance, stance.balance_energy_mJ / 4.0)
    assert half.sprayed_speed_mm_per_s == pytest.approx(found.speed_mm_per_s / 2.0)
