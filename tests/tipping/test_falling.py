"""A can turning about its rim: against elliptic integrals, an ODE solver and its own energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import ellipkinc

from packsim.can import Stance
from packsim.tipping.falling import Leaners, rocked_rad, swing
from packsim.tipping.overturning import chain_energy_mJ
from packsim.tipping.rocking import can_rocker, quarter_period_s

CAN = Stance(66.0, 124.0, 0.0102, 74.0)
BODY = can_rocker(CAN)
ALPHA, NEEDED = CAN.balance_angle_rad, CAN.balance_energy_mJ
STIFF = CAN.weight_N * CAN.arm_mm


def leaners(*before_mm: float, alpha: float = ALPHA, energy: float = NEEDED) -> Leaners:
    n = 1 + len(before_mm)
    return Leaners(
        np.full(n, alpha), np.full(n, energy), np.array([0.0, *before_mm]), CAN.height_mm,
        BODY.inertia_kg_mm2, STIFF,
    )  # fmt: skip


def fall_time_s(kick_mJ: float, to_rad: float) -> float:
    """∫ dθ / ω with ω² = 2 (E − U)/I, an incomplete elliptic integral of the first kind."""
    spare = kick_mJ - STIFF * (1.0 - math.cos(ALPHA))
    m = -2.0 * STIFF / spare
    scale = math.sqrt(BODY.inertia_kg_mm2 / (2e3 * spare))
    return 2.0 * scale * float(ellipkinc((to_rad - ALPHA) / 2.0, m) - ellipkinc(-ALPHA / 2.0, m))


@pytest.mark.parametrize("over", [1.001, 1.05, 1.5, 4.0])
@pytest.mark.parametrize("to_rad", [0.6, math.pi / 2.0])
def test_the_time_to_fall_is_the_elliptic_integral(over: float, to_rad: float) -> None:
    found = swing(leaners(), over * NEEDED, to_rad)
    assert found.over
    assert found.lean_rad[-1] == pytest.approx(to_rad)
    assert found.lasts_s == pytest.approx(fall_time_s(over * NEEDED, to_rad), rel=1e-3)


@given(st.floats(0.05, 3.0), st.floats(0.1, math.pi / 2.0))
def test_weight_alone_keeps_the_energy(share: float, end: float) -> None:
    """Between nodes the speed is the mean of theirs: kinetic and lifting energy stay the kick's."""
    found, kick = swing(leaners(), share * NEEDED, end), share * NEEDED
    out = int(found.lean_rad.argmax()) + 1
    time, lean = found.time_s[:out], found.lean_rad[:out]
    middle, speed = (lean[1:] + lean[:-1]) / 2.0, np.diff(lean) / np.diff(time)
    moving = 0.5e-3 * BODY.inertia_kg_mm2 * speed**2
    lifted = STIFF * (np.cos(ALPHA - middle) - math.cos(ALPHA))
    # the mean speed up to a turning point says less
    assert (moving + lifted)[:-2] == pytest.approx(kick, rel=0.01)


def test_a_kick_just_below_comes_back_and_one_just_above_does_not() -> None:
    back, over = (swing(leaners(), share * NEEDED, 1.5) for share in (0.9999, 1.0001))
    assert not back.over
    assert over.over
    assert back.lean_rad[-1] == 0.0
    assert 0.97 * ALPHA < back.lean_rad.max() < ALPHA
    assert over.lean_rad[-1] == pytest.approx(1.5)
    assert (np.diff(back.time_s) >= 0.0).all()


def test_it_comes_back_in_twice_its_quarter_period() -> None:
    kick = 0.3 * NEEDED
    found = swing(leaners(), kick, 1.5)
    quarter = quarter_period_s(BODY, found.lean_rad.max())
    assert found.lasts_s == pytest.approx(2.0 * quarter, rel=0.02)
    assert STIFF * (math.cos(ALPHA - found.lean_rad.max()) - math.cos(ALPHA)) == pytest.approx(
        kick, rel=1e-3
    )


def test_the_nodes_converge_on_an_ode_solver_where_another_can_gives_way() -> None:
    """Two cans: by Lagrange's equation with the mass of both, started anew where they meet."""
    gap, kick = 9.0, 2.5 * NEEDED
    pair, theta_met = leaners(gap), math.asin(gap / CAN.height_mm)
    inertia = BODY.inertia_kg_mm2

    def speed(theta: float) -> float:
        work = pair.work_mJ(np.array([theta]))[0]
        slope = 0.0
        if theta > theta_met:
            second = math.asin(math.sin(theta) - gap / CAN.height_mm)
            slope = math.cos(theta) / math.cos(second)
        return math.sqrt(2e3 * (kick - work) / inertia / (1.0 + slope**2))

    end = 0.98 * ALPHA
    times = 0.0
    for low, high in ((0.0, theta_met), (theta_met + 1e-12, end)):
        got = solve_ivp(lambda x, _t: [1.0 / speed(x)], (low, high), [0.0], rtol=1e-9, atol=1e-12)
        times += got.y[0, -1]
    found = swing(pair, kick, 1.2)
    assert np.interp(end, found.lean_rad, found.time_s) == pytest.approx(times, rel=2e-3)


def test_those_in_the_way_lean_as_the_chain_energy_counts_them() -> None:
    gaps = (3.0, 5.0, 60.0)
    group = leaners(3.0, 8.0)
    needed = float(chain_energy_mJ(gaps, CAN, [124.0 * 0.9]))
    assert group.work_mJ(np.array([ALPHA]))[0] == pytest.approx(needed)
    assert not swing(group, 0.999 * needed, 1.5).over
    gone = swing(group, 1.001 * needed, 1.5)
    assert gone.over
    first, second, third = group.leans_rad(np.array([1.2]))[0]
    assert first == 1.2
    assert CAN.height_mm * (math.sin(ALPHA) - math.sin(second)) == pytest.approx(3.0)
    assert CAN.height_mm * (math.sin(ALPHA) - math.sin(third)) == pytest.approx(8.0)


def test_stopped_short_of_balance_it_falls_back() -> None:
    found = swing(leaners(), 5.0 * NEEDED, 0.5 * ALPHA)
    assert not found.over
    assert found.lean_rad.max() == pytest.approx(0.5 * ALPHA)
    top = int(found.lean_rad.argmax())
    # let go at rest there, as the rocking of a free can begins
    fell = found.time_s[-1] - found.time_s[top]
    assert fell == pytest.approx(quarter_period_s(BODY, 0.5 * ALPHA), rel=0.02)
    assert found.time_s[top] < 0.5 * fell


def test_sprays_that_tip_a_can_alone_need_no_kick() -> None:
    found = swing(leaners(alpha=0.0, energy=0.0), 1e-3, 1.0)
    assert found.over
    assert found.lean_rad[-1] == 1.0


@pytest.mark.parametrize("share", [0.01, 0.1, 0.4])
@pytest.mark.parametrize("room", [0.02, 0.1, 1.0])
def test_cans_that_stay_rock_as_one_that_is_followed(share: float, room: float) -> None:
    kick = share * NEEDED
    full = swing(leaners(), kick, min(room, 0.999 * ALPHA))
    time = np.linspace(0.0, 1.1 * full.lasts_s, 60)
    many = rocked_rad(
        time, np.full(60, kick), np.full(60, ALPHA), np.full(60, NEEDED), np.full(60, room),
        np.full(60, BODY.inertia_kg_mm2),
    )  # fmt: skip
    one = np.array([full.at(t) for t in time])
    assert many == pytest.approx(one, abs=0.05 * one.max())


def test_those_that_are_pushed_stay_where_the_first_one_is_past_its_own_balance() -> None:
    """The last one balances at more than the first: it is the first one's angle that counts."""
    two = Leaners(
        np.array([0.2, 0.5]), np.full(2, NEEDED), np.array([0.0, 3.0]), CAN.height_mm,
        BODY.inertia_kg_mm2, STIFF,
    )  # fmt: skip
    leans = two.leans_rad(np.array([0.0, 0.1, 0.2, 0.4]))
    assert leans[:, 0].tolist() == [0.0, 0.1, 0.2, 0.4]
    moved = np.sin([0.0, 0.1, 0.2, 0.2]) - 3.0 / CAN.height_mm
    assert leans[:, 1] == pytest.approx(np.arcsin(np.maximum(moved, 0.0)))
