"""Flow, speed, thrust and spread of nozzles, against the published rows J01 to J17."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray.jets import (
    flow_mm3_per_s,
    jet_speed_mm_per_s,
    spread_mm,
    stand_off_mm,
    thrust_N,
    thrust_of_nozzle_N,
)

WATER = 1e-6
PSI_MPA = 0.006894757293168361  # lbf/in², exact by the definitions of lbf and inch
GALLON_MM3 = 3_785_411.784  # 231 in³, exact
LBF_N = 4.4482216152605  # exact
NOZZLE = Nozzle("cone", math.radians(65.0), 1.5e5, 0.3)


def orifice_flow_mm3_per_s(
    diameter_mm: float, pressure_MPa: float, coefficient: float = 0.62
) -> float:
    """Flow of a round opening, C πd²/4 times the jet speed: any hydraulics text."""
    return coefficient * math.pi * diameter_mm**2 / 4.0 * jet_speed_mm_per_s(pressure_MPa)


def header(side: str = "above", distance: float = 300.0, pressure: float = 0.2) -> Header:
    return Header(side, 0.0, distance, 0.0, 60.0, 10, pressure, NOZZLE)


def test_thrust_of_a_water_jet(published: Any) -> None:
    flow = orifice_flow_mm3_per_s(15.0, 0.3, 1.0)
    assert published["J01"].agrees(thrust_N(flow, jet_speed_mm_per_s(0.3), WATER))


def test_jet_speed(published: Any) -> None:
    assert published["J02"].agrees(jet_speed_mm_per_s(0.3) / 1000.0)


def test_orifice_discharge(published: Any) -> None:
    assert published["J03"].agrees(orifice_flow_mm3_per_s(40.0, 0.005) / 1e9)
    head_MPa = 1000.0 * 9.80665 * 3.0 / 1e6  # ρ g H
    assert published["J04"].agrees(orifice_flow_mm3_per_s(50.0, head_MPa) / 1e9)


@pytest.mark.parametrize(("row", "psi"), [("J05", 7.0), ("J06", 50.0)])
def test_sprinkler_flow_from_its_constant(published: Any, row: str, psi: float) -> None:
    rated = Nozzle("cone", 1.0, 5.6 * GALLON_MM3 / 60.0, PSI_MPA)
    got = flow_mm3_per_s(rated, psi * PSI_MPA) * 60.0 / GALLON_MM3
    assert published[row].agrees(got)


def test_hose_reactions(published: Any) -> None:
    speed = jet_speed_mm_per_s(80.0 * PSI_MPA)
    solid = orifice_flow_mm3_per_s(1.375 * 25.4, 80.0 * PSI_MPA, 1.0)
    assert published["J09"].agrees(thrust_N(solid, speed, WATER) / LBF_N)


@pytest.mark.parametrize(("row", "psi"), [("J11", 80.0), ("J12", 100.0)])
def test_hose_reactions_by_flow(published: Any, row: str, psi: float) -> None:
    """The printed rule 0.0505 Q √p is 0.96 of ρQ√(2p/ρ): a jet speed coefficient of 0.96."""
    flow = 500.0 * GALLON_MM3 / 60.0
    speed = jet_speed_mm_per_s(psi * PSI_MPA, WATER, 0.96)
    assert published[row].agrees(thrust_N(flow, speed, WATER) / LBF_N)


def test_smooth_nozzle_constant(published: Any) -> None:
    flow = orifice_flow_mm3_per_s(25.4, PSI_MPA, 1.0) * 60.0 / GALLON_MM3
    assert published["J13"].agrees(flow)


def test_mass_flow_and_plate_force(published: Any) -> None:
    # 20 m/s needs ρv²/2 = 0.2 MPa
    assert published["J14"].agrees(orifice_flow_mm3_per_s(30.0, 0.2, 1.0) * WATER)
    assert published["J15"].agrees(thrust_N(30.0 / WATER, 12_000.0, WATER))


def test_spread_of_a_fan(published: Any) -> None:
    assert published["J16"].agrees(spread_mm(10.0, math.radians(30.0)))
    assert published["J17"].agrees(spread_mm(20.0, math.radians(80.0)))


@given(st.floats(0.0, 2.0), st.floats(1.0, 9.0))
def test_root_law_and_thrust_law(pressure: float, ratio: float) -> None:
    once, more = flow_mm3_per_s(NOZZLE, pressure), flow_mm3_per_s(NOZZLE, ratio * pressure)
    assert more == pytest.approx(math.sqrt(ratio) * once)
    # thrust is proportional to pressure: both flow and speed go with its root
    low, high = header(pressure=pressure), header(pressure=ratio * pressure)
    assert thrust_of_nozzle_N(high) == pytest.approx(ratio * thrust_of_nozzle_N(low))


def test_thrust_of_a_header_nozzle_by_hand() -> None:
    # at 0.3 MPa: 0.15 L/s = 0.15 kg/s at 0.95 x 24.4949 m/s
    assert thrust_of_nozzle_N(header(pressure=0.3)) == pytest.approx(0.15 * 0.95 * 24.4948974)


def test_stand_off_is_to_the_plane_washed() -> None:
    assert stand_off_mm(header(), 122.0) == 178.0
    assert stand_off_mm(header("below", 90.0), 122.0) == 90.0
    with pytest.raises(InputError, match="can height"):
        stand_off_mm(header(distance=120.0), 122.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: flow_mm3_per_s(NOZZLE, -0.1),
        lambda: jet_speed_mm_per_s(0.1, 0.0),
        lambda: jet_speed_mm_per_s(0.1, 1e-6, 1.1),
        lambda: thrust_N(1.0, math.nan, 1e-6),
        lambda: spread_mm(10.0, math.pi),
    ],
)
def test_bad_values_are_refused(call: Any) -> None:
    with pytest.raises(InputError):
        call()
