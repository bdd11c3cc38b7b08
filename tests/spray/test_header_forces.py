"""The forces of a header's jets, against drops thrown one by one and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from packsim.can import Stance
from packsim.line import Header, Nozzle
from packsim.spray.jets import Footprint, footprint_of, thrust_of_nozzle_N
from packsim.spray.leaning import tipping_moment_N_mm
from packsim.spray.spray_load import upright_load

STANCE = Stance(66.0, 122.0, 0.0102, 70.0)
CONE = Nozzle("cone", math.radians(24.0), 2.5e4, 0.2)
FAN = Nozzle("fan", math.radians(50.0), 2.5e4, 0.2, math.radians(8.0), math.radians(15.0))


def one(side: str, nozzle: Nozzle) -> tuple[Header, Footprint]:
    header = Header(side, 400.0, 150.0 if side == "below" else 260.0, 0.0, 50.0, 1, 0.1, nozzle)
    return header, footprint_of(header, STANCE.height_mm)


def upright(
    header: Header, across: float, along: float, open_fraction: float
) -> tuple[float, NDArray[np.float64]]:
    """Push down and turning moment B: B·u − R T tips an upright can over its edge at R u."""
    turns = np.array([0.0, 0.5, 1.0]) * math.pi
    found = tipping_moment_N_mm([header], STANCE, open_fraction, along, across, turns, np.zeros(1))
    ahead, aside, back = found[:, 0]
    down = -(ahead + back) / 66.0
    turn = np.array([(ahead - back) / 2.0, aside + 33.0 * down])
    at_once = upright_load([header], STANCE, open_fraction, along, across)
    assert at_once == pytest.approx(np.append(down, turn), abs=1e-9)
    return float(down), turn


def thrown(
    header: Header, patch: Footprint, along: float, across: float, count: int = 400_000
) -> tuple[float, NDArray[np.float64]]:
    """Each drop gives up its momentum: push and moment about the can's foot."""
    rng = np.random.default_rng(2)
    radius, angle = np.sqrt(rng.random(count)), rng.random(count) * 2 * math.pi
    long = patch.half_long_mm * radius * np.cos(angle)
    thin = patch.half_thin_mm * radius * np.sin(angle)
    turn = patch.twist_rad
    x = long * math.sin(turn) + thin * math.cos(turn)
    y = long * math.cos(turn) - thin * math.sin(turn)
    slant = np.sqrt(patch.stand_off_mm**2 + x**2 + y**2)
    hit = (x - along) ** 2 + (y - across) ** 2 < STANCE.radius_mm**2
    each = thrust_of_nozzle_N(header) / count
    push = each * patch.stand_off_mm / slant[hit]
    sideways = each * np.stack([x, y])[:, hit] / slant[hit]
    at = np.stack([x - along, y - across])[:, hit]
    up = 1.0 if header.side == "above" else -1.0
    level = STANCE.height_mm if header.side == "above" else 0.0
    moment = np.sum(up * push * at + level * sideways, axis=1)
    return float(np.sum(push)), moment


@pytest.mark.parametrize("nozzle", [CONE, FAN])
@pytest.mark.parametrize("side", ["above", "below"])
@pytest.mark.parametrize("place", [(0.0, 0.0), (10.0, 18.0), (-14.0, 35.0)])
def test_against_drops_thrown_one_by_one(
    nozzle: Nozzle, side: str, place: tuple[float, float]
) -> None:
    """The drops carry exact ray directions; the model spreads axial thrust like the flow.

    That costs up to the spread of the rays' cosines: 2 % for this cone, 10 % for the 50° fan.
    """
    header, patch = one(side, nozzle)
    down_N, turn_N_mm = upright(header, place[1], 400.0 + place[0], 1.0)
    push, moment = thrown(header, patch, *place)
    whole = thrust_of_nozzle_N(header)
    close = 0.012 if nozzle is CONE else 0.06
    down = 1.0 if side == "above" else -1.0
    assert down * down_N == pytest.approx(push, abs=close * whole)
    assert turn_N_mm == pytest.approx(moment, abs=close * whole * 33.0 + 1e-6)


def test_a_jet_well_inside_the_mouth_gives_all_its_axial_thrust() -> None:
    pencil = Nozzle("cone", math.radians(2.0), 2.5e4, 0.2)
    header, _ = one("below", pencil)
    down_N, turn_N_mm = upright(header, 5.0, 400.0, 0.6)
    thrust = thrust_of_nozzle_N(header)
    assert down_N == pytest.approx(-0.6 * thrust, rel=2e-4)
    # five millimetres off centre the push up turns the can away from the jet: arm 5 mm
    assert turn_N_mm == pytest.approx([0.0, 0.6 * thrust * 5.0], rel=2e-4, abs=1e-9)


def test_out_of_reach_there_is_nothing() -> None:
    header, _ = one("above", CONE)
    near, far = upright(header, 0.0, 400.0, 1.0), upright(header, 500.0, 400.0, 1.0)
    assert near[0] > 0.0
    assert far[0] == 0.0
    assert upright(header, 0.0, 900.0, 1.0)[0] == 0.0
