"""Whether neighbouring sprays meet, by hand."""

from __future__ import annotations

import math

import pytest

from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray.uniformity import coverage

CONE = Nozzle("cone", math.radians(90.0), 1e5, 0.1)


def header(pitch: float, side: str = "above") -> Header:
    return Header(side, 0.0, 220.0, 0.0, pitch, 8, 0.1, CONE)


def test_a_ninety_degree_cone_is_twice_as_wide_as_it_stands_off() -> None:
    found = coverage(header(120.0), 120.0)
    assert (found.stand_off_mm, found.width_mm) == pytest.approx((100.0, 200.0))
    assert (found.overlap_mm, found.layers) == pytest.approx((80.0, 200 / 120))
    assert found.dry_below_mm == pytest.approx(60.0)


def test_a_taller_can_opens_a_dry_stripe_above_but_not_below() -> None:
    short, tall = coverage(header(150.0), 120.0), coverage(header(150.0), 160.0)
    assert short.overlap_mm > 0.0 > tall.overlap_mm
    assert tall.overlap_mm == pytest.approx(-30.0)
    assert coverage(header(150.0, "below"), 120.0) == coverage(header(150.0, "below"), 160.0)


def test_at_the_stand_off_named_they_just_meet() -> None:
    needed = coverage(header(150.0), 120.0).dry_below_mm
    assert coverage(header(150.0), 220.0 - needed).overlap_mm == pytest.approx(0.0, abs=1e-9)


def test_a_twisted_fan_covers_less() -> None:
    flat = Nozzle("fan", math.radians(90.0), 1e5, 0.1)
    turned = Nozzle("fan", math.radians(90.0), 1e5, 0.1, twist_rad=math.radians(30.0))
    wide = coverage(Header("below", 0.0, 100.0, 0.0, 90.0, 8, 0.1, flat), 120.0).width_mm
    less = coverage(Header("below", 0.0, 100.0, 0.0, 90.0, 8, 0.1, turned), 120.0).width_mm
    assert wide == pytest.approx(200.0)
    assert less == pytest.approx(
        2 * math.hypot(100 * math.cos(math.pi / 6), 50 * math.tan(math.radians(8) / 2) * 2 * 0.5)
    )


def test_a_header_among_the_cans_is_refused() -> None:
    with pytest.raises(InputError):
        coverage(header(150.0), 230.0)
