"""The patch a spray covers: extents and turning."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray.jets import Footprint, flow_mm3_per_s, footprint_of

CONE = Nozzle("cone", math.radians(60.0), 1e5, 0.2)
FAN = Nozzle("fan", math.radians(80.0), 1e5, 0.2, math.radians(10.0), math.radians(15.0))


def header(nozzle: Nozzle, side: str = "above") -> Header:
    return Header(side, 0.0, 220.0, 0.0, 60.0, 10, 0.8, nozzle)


def test_cone_on_the_can_tops_and_on_the_mat() -> None:
    top = footprint_of(header(CONE), 120.0)
    assert top.half_long_mm == pytest.approx(100.0 * math.tan(math.radians(30.0)))
    assert top.half_across_mm == pytest.approx(top.half_long_mm)
    # four times the pressure, twice the flow
    assert flow_mm3_per_s(CONE, 0.8) == pytest.approx(2e5)
    assert footprint_of(header(CONE, "below"), 120.0).half_long_mm == pytest.approx(
        220.0 * math.tan(math.radians(30.0))
    )


def test_fan_is_long_and_thin_and_turned() -> None:
    patch = footprint_of(header(FAN), 120.0)
    assert patch.half_long_mm == pytest.approx(100.0 * math.tan(math.radians(40.0)))
    assert patch.half_thin_mm == pytest.approx(100.0 * math.tan(math.radians(5.0)))
    assert patch.twist_rad == pytest.approx(math.radians(15.0))


@pytest.mark.parametrize("twist", [0.0, 0.3, -0.7, math.pi / 2])
def test_extents_against_the_turned_outline(twist: float) -> None:
    patch = Footprint("ellipse", 80.0, 12.0, twist, 100.0)
    angle = np.linspace(0.0, 2 * math.pi, 20001)
    long, thin = 80.0 * np.cos(angle), 12.0 * np.sin(angle)
    across = long * math.cos(twist) - thin * math.sin(twist)
    along = long * math.sin(twist) + thin * math.cos(twist)
    assert patch.half_across_mm == pytest.approx(np.max(np.abs(across)), rel=1e-6)
    assert patch.half_along_mm == pytest.approx(np.max(np.abs(along)), rel=1e-6)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Footprint("star", 1.0, 1.0, 0.0, 1.0),
        lambda: Footprint("disc", 0.0, 1.0, 0.0, 1.0),
        lambda: footprint_of(header(CONE), 230.0),
    ],
)
def test_bad_values_are_refused(make: Any) -> None:
    with pytest.raises(InputError):
        make()
