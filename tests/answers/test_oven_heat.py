"""Oven heat against hand calculations: what cans and what mats take."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.answers.mat_heat import HeatRow, oven_heat
from packsim.answers.stage_pack import CansFlow
from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Mat

CAN = Can("12 oz", 66.09, 124.3, 0.0102, 74.2, 10.0, 22.5, specific_heat_J_per_kgK=897.0)
STEEL = Mat(1500.0, 100.0, mass_kg_per_m2=9.2, specific_heat_J_per_kgK=500.0)
HEAVY = Mat(1500.0, 100.0, mass_kg_per_m2=13.1, specific_heat_J_per_kgK=500.0)
GLASS = Mat(1500.0, 100.0, mass_kg_per_m2=0.6, specific_heat_J_per_kgK=880.0)
CANS_PER_M = 264.4 * 1.5  # perfect 211 pack, 1.5 m wide


def test_a_steel_mat_takes_two_to_three_times_the_heat_of_the_cans() -> None:
    flow = CansFlow(CANS_PER_M, 100.0)
    for mat, low, high in ((STEEL, 1.8, 2.0), (HEAVY, 2.6, 2.8), (GLASS, 0.20, 0.24)):
        heat = oven_heat(flow, CAN, mat, 150.0)
        assert low < heat.mat_kW / heat.cans_kW < high


def test_power_worked_by_hand() -> None:
    # 0.1 m/s x 150 K: cans 396.6/m x 0.0102 kg x 897 J/(kg K) = 3628.6 J/(m K) -> 54.43 kW;
    # mat 9.2 kg/m2 x 1.5 m x 500 J/(kg K) = 6900 J/(m K) -> 103.5 kW
    heat = oven_heat(CansFlow(CANS_PER_M, 100.0), CAN, STEEL, 150.0)
    assert heat.cans_kW == pytest.approx(54.43, abs=0.005)
    assert heat.mat_kW == pytest.approx(103.5, rel=1e-12)
    assert heat.total_kW == pytest.approx(157.93, abs=0.005)


def compared(now: Mat, other: Mat) -> HeatRow:
    flow = CansFlow(CANS_PER_M, 100.0)
    heats = [oven_heat(flow, CAN, mat, 150.0) for mat in (now, other)]
    return HeatRow("bake", "12 oz", 25.0, 175.0, flow.cans_per_min, *heats)


def test_another_mat_saves_the_difference_of_the_mats() -> None:
    found = compared(STEEL, GLASS)
    assert found.saved_kW == pytest.approx(103.5 - 11.88, rel=1e-12)
    assert found.now.cans_kW == found.other.cans_kW


def test_no_warming_is_no_heat() -> None:
    heat = oven_heat(CansFlow(CANS_PER_M, 100.0), CAN, STEEL, 0.0)
    assert heat.total_kW == 0.0
    weightless = Mat(1500.0, 100.0, mass_kg_per_m2=0.0)
    found = compared(weightless, STEEL)
    assert found.saved_kW == pytest.approx(-103.5)


@given(
    cans=st.floats(0.0, 1e3),
    speed=st.floats(1.0, 500.0),
    warming=st.floats(0.0, 300.0),
    factor=st.floats(0.1, 10.0),
)
def test_power_is_linear_in_speed_and_warming(
    cans: float, speed: float, warming: float, factor: float
) -> None:
    base = oven_heat(CansFlow(cans, speed), CAN, STEEL, warming).total_kW
    faster = oven_heat(CansFlow(cans, speed * factor), CAN, STEEL, warming).total_kW
    hotter = oven_heat(CansFlow(cans, speed), CAN, STEEL, warming * factor).total_kW
    assert faster == pytest.approx(base * factor, rel=1e-9)
    assert hotter == pytest.approx(base * factor, rel=1e-9)


def test_cooling_is_not_an_oven() -> None:
    with pytest.raises(InputError, match="warming_K"):
        oven_heat(CansFlow(1.0, 1.0), CAN, STEEL, -1.0)
