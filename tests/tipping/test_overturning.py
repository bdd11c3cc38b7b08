from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from packsim.can import Can, Stance
from packsim.tipping.overturning import chain_energy_mJ, lean_energy_mJ, row_energies_mJ
from packsim.tipping.safe_slack import safe_slack

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
H = CAN.height_mm
WIRES = (45.0, 90.0)
REACH = H * math.sin(CAN.balance_angle_rad)


def test_energy_is_the_rise_of_the_centre_of_gravity() -> None:
    for lean in (0.0, 1e-6, 0.1, 0.3, CAN.balance_angle_rad):
        height = CAN.radius_mm * math.sin(lean) + CAN.cg_mm * math.cos(lean)
        rise = CAN.weight_N * (height - CAN.cg_mm)
        assert float(lean_energy_mJ(lean, CAN)) == pytest.approx(rise, rel=1e-9, abs=1e-15)
    over = CAN.weight_N * (CAN.arm_mm - CAN.cg_mm)
    assert float(lean_energy_mJ(1.0, CAN)) == pytest.approx(over, rel=1e-12)
    assert pytest.approx(over, rel=1e-12) == CAN.balance_energy_mJ


def test_energy_of_a_cube_over_its_edge() -> None:
    # a cube of side a rises by a (sqrt 2 - 1) / 2; any physics text
    cube = Stance(100.0, 100.0, 1.0, 50.0)
    assert cube.weight_N * 100.0 * (math.sqrt(2.0) - 1.0) / 2.0 == pytest.approx(
        float(lean_energy_mJ(math.pi / 4.0, cube)), rel=1e-12
    )


@given(st.floats(0.01, 0.4), st.floats(0.02, 1.0))
def test_energy_is_the_work_of_the_righting_moment(alpha: float, share: float) -> None:
    lean = share * alpha
    work, _ = quad(lambda t: CAN.weight_N * CAN.arm_mm * math.sin(alpha - t), 0.0, lean)
    assert float(lean_energy_mJ(lean, CAN, alpha)) == pytest.approx(work, rel=1e-9, abs=1e-15)


def chain_by_hand(gaps: list[float], wires: tuple[float, ...]) -> float:
    """The rule of the model, one can after another."""
    total, passed = 0.0, 0.0
    for gap in gaps:
        total += float(lean_energy_mJ(math.asin(max(0.0, REACH - passed) / H), CAN))
        passed += gap
    touching = [z for z in wires if z * z + gaps[-1] ** 2 < H * H]
    out = H * gaps[-1] / math.hypot(gaps[-1], max(touching)) if touching else H
    return total if passed - gaps[-1] + out >= REACH else math.inf


@settings(max_examples=2 * settings().max_examples)
@given(st.lists(st.floats(0.0, 60.0), min_size=1, max_size=8))
def test_chain_by_hand(gaps: list[float]) -> None:
    assert float(chain_energy_mJ(gaps, CAN, WIRES)) == pytest.approx(
        chain_by_hand(gaps, WIRES), rel=1e-9
    )


def test_an_edge_can_alone_follows_the_edge_limit() -> None:
    limit = safe_slack(CAN, WIRES).edge_mm
    alone = float(lean_energy_mJ(1.0, CAN))
    got = chain_energy_mJ(np.array([[limit - 1e-6], [limit + 1e-6]]), CAN, WIRES)
    assert got[0] == math.inf
    assert got[1] == pytest.approx(alone, rel=1e-12)


def test_room_right_ahead_lets_a_can_go_alone_and_room_at_the_guide_takes_all_along() -> None:
    alone = float(lean_energy_mJ(1.0, CAN))
    far = [REACH + 0.01, 0.0, 0.0, 0.0]
    assert float(chain_energy_mJ(far, CAN, WIRES)) == pytest.approx(alone, rel=1e-12)
    assert float(chain_energy_mJ(far[::-1], CAN, WIRES)) == pytest.approx(4.0 * alone, rel=1e-12)
    assert float(chain_energy_mJ([0.0] * 4, CAN, WIRES)) == math.inf


@given(
    st.lists(st.floats(0.0, 30.0), min_size=2, max_size=8), st.integers(0, 7), st.floats(0.0, 9.0)
)
def test_more_room_never_costs_more(gaps: list[float], at: int, more: float) -> None:
    wider = list(gaps)
    wider[at % len(gaps)] += more
    assert float(chain_energy_mJ(wider, CAN, WIRES)) <= float(chain_energy_mJ(gaps, CAN, WIRES)) * (
        1.0 + 1e-12
    )


def test_rows_are_chains_to_both_sides_and_mirror() -> None:
    rng = np.random.default_rng(5)
    gaps = rng.dirichlet(np.ones(7), 40) * 90.0
    left, right = row_energies_mJ(gaps, CAN, WIRES)
    assert left.shape == right.shape == (40, 6)
    for k in range(6):
        np.testing.assert_array_equal(right[:, k], chain_energy_mJ(gaps[:, k + 1 :], CAN, WIRES))
    mirrored_left, mirrored_right = row_energies_mJ(gaps[:, ::-1], CAN, WIRES)
    np.testing.assert_allclose(mirrored_left[:, ::-1], right, rtol=1e-12)
    np.testing.assert_allclose(mirrored_right[:, ::-1], left, rtol=1e-12)
    assert np.isfinite(right).any()
    assert np.isinf(right).any()


def test_edge_pockets_of_a_short_crosswise_row_cost_little() -> None:
    # a row one can short has half a diameter at each guide at no slack at all; with wires too low
    # for that its end cans go for the energy of a can alone, those of a full row never
    low = (60.0,)
    half = CAN.radius_mm
    short = np.array([half, *[0.0] * 6, half])
    full = np.zeros(9)
    left, right = row_energies_mJ(short, CAN, low)
    alone = float(lean_energy_mJ(1.0, CAN))
    assert left[0] == pytest.approx(alone, rel=1e-12)
    assert right[-1] == pytest.approx(alone, rel=1e-12)
    assert np.isinf(row_energies_mJ(full, CAN, low)).all()


def test_blow_off_makes_a_kick_less_likely_to_tip() -> None:
    # common practice, no source: cans are least steady between a flood and the blow-off. The pool
    # adds weight too, so it is the balance angle that suffers, not the energy: both are shown
    body = Can("demo", 66.09, 124.3, 0.0102, 74.2, 10.0, 23.0)
    dry, wet = body.stance(), body.stance(1.0)
    assert dry.balance_angle_rad > wet.balance_angle_rad
    per_weight = [float(lean_energy_mJ(1.0, s)) / s.weight_N for s in (dry, wet)]
    assert per_weight[0] > per_weight[1]
