"""Mass and centre of gravity of a body: exact shells, the 12 oz estimates, gauges in range."""

from __future__ import annotations

import math
from typing import Any

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.catalogue import Gauges, base_shape, body_model, can_size, metal
from packsim.errors import InputError

GAUGES = Gauges(0.25, 0.097, 0.155, 20.0, 2720.0)


def integrated(
    d: float, h: float, g: Gauges, dome: float, rim: float, bead: float, base: float
) -> tuple[float, float]:
    """Mass and centre of gravity by integrating every shell along its meridian, with mpmath."""
    radius, ring = d / 2, rim + 2 * bead
    sphere = (rim**2 + dome**2) / (2 * dome)
    angle = mpmath.asin(rim / sphere)
    slant = mpmath.hypot(radius - ring, base)
    straight = h - base - g.thick_length_mm
    shells = [  # thickness, meridian length, radius(s), height(s)
        (g.thick_wall_mm, g.thick_length_mm, lambda s: (d - g.thick_wall_mm) / 2, lambda s: s),
        (
            g.thin_wall_mm,
            straight,
            lambda s: (d - g.thin_wall_mm) / 2,
            lambda s: g.thick_length_mm + s,
        ),
        (
            g.base_mm,
            slant,
            lambda s: radius - (radius - ring) * s / slant,
            lambda s: h - base + base * s / slant,
        ),
        (
            g.base_mm,
            sphere * angle,
            lambda s: sphere * mpmath.sin(s / sphere),
            lambda s: h - dome + sphere * (1 - mpmath.cos(s / sphere)),
        ),
        (g.base_mm, mpmath.pi * bead, lambda s: rim + bead, lambda s: h),  # half a ring, Pappus
    ]
    volume = moment = mpmath.mpf(0)
    for thick, length, r_of, z_of in shells:
        volume += thick * mpmath.quad(lambda s, r=r_of: 2 * mpmath.pi * r(s), [0, length])
        moment += thick * mpmath.quad(
            lambda s, r=r_of, z=z_of: 2 * mpmath.pi * r(s) * z(s), [0, length]
        )
    return float(volume) * g.density_kg_per_m3 * 1e-9, float(moment / volume)


@given(
    d=st.floats(45.0, 90.0),
    h=st.floats(60.0, 220.0),
    dome=st.floats(2.0, 14.0),
    rim=st.floats(14.0, 19.0),
)
def test_closed_form_equals_integrated_shells(d: float, h: float, dome: float, rim: float) -> None:
    got = body_model(d, h, GAUGES, dome, rim, 1.4, 9.0)
    assert got == pytest.approx(integrated(d, h, GAUGES, dome, rim, 1.4, 9.0), rel=1e-10)


def test_a_plain_tube_balances_in_its_middle() -> None:
    tube = Gauges(1e-12, 0.1, 0.1, 50.0, 2720.0)  # a base of no weight
    mass, cg = body_model(66.0, 100.0, tube, 0.0, 0.0, 0.0, 0.0)
    assert cg == pytest.approx(50.0, abs=1e-6)
    assert mass == pytest.approx(math.pi * 65.9 * 0.1 * 100.0 * 2720e-9, rel=1e-6)


def test_twelve_ounce_estimates() -> None:
    # estimate made independently with lumped base area: 10.2 g, 74.2 mm, 24.0 deg, 8.5 ml, which
    # acts level at 114.3 + 30.3 mm: 17.3 deg
    can = can_size("us_12oz_std")
    assert can.mass_kg == pytest.approx(0.0102, abs=0.0001)
    assert can.cg_mm == pytest.approx(74.2, abs=0.3)
    assert math.degrees(can.stance().balance_angle_rad) == pytest.approx(24.0, abs=0.1)
    assert math.degrees(can.stance(1.0).balance_angle_rad) == pytest.approx(17.3, abs=0.1)
    assert can.dome_volume_mm3 == pytest.approx(8500.0, abs=50.0)


def test_whole_can_less_its_end_is_the_body() -> None:
    # whole 12 oz can 13.3 to 13.6 g ([hosford1994]_: 0.48 oz; 34 to the pound, 2006),
    # end 2.2 to 2.7 g (from memory); coatings included: within 10 %
    body_g = can_size("us_12oz_std").mass_kg * 1e3
    assert 0.9 * (13.34 - 2.7) < body_g < 13.6 - 2.2


@pytest.mark.parametrize(
    ("gauges", "grams"),
    [
        ((0.23, 0.090, 0.150), 9.5),
        ((0.264, 0.100, 0.160), 10.6),
        ((0.273, 0.105, 0.165), 11.0),
        ((0.30, 0.110, 0.160), 11.6),
    ],
)
def test_other_aluminium_gauges(gauges: tuple[float, float, float], grams: float) -> None:
    # estimates made independently with a lumped base
    can = can_size("us_12oz_std", gauges=Gauges(*gauges, 20.0, 2720.0))
    assert can.mass_kg * 1e3 == pytest.approx(grams, abs=0.1)
    assert 0.59 < can.cg_mm / can.height_mm < 0.615


@pytest.mark.parametrize(
    ("gauges", "grams"),
    [((0.18, 0.057, 0.10), 18.2), ((0.22, 0.07, 0.12), 22.2), ((0.24, 0.075, 0.13), 23.9)],
)
def test_steel_gauges_of_330_ml(gauges: tuple[float, float, float], grams: float) -> None:
    # estimates made independently with a lumped base
    can = can_size("eu_330ml_std", metal="steel", gauges=Gauges(*gauges, 20.0, 7850.0))
    assert can.mass_kg * 1e3 == pytest.approx(grams, abs=0.1)
    assert 0.615 < can.cg_mm / can.height_mm < 0.625


@given(factor=st.floats(0.2, 5.0))
def test_centre_of_gravity_does_not_depend_on_density(factor: float) -> None:
    heavy = Gauges(0.25, 0.097, 0.155, 20.0, 2720.0 * factor)
    mass, cg = body_model(66.09, 124.3, GAUGES, 10.0, 22.5, 1.4, 9.0)
    got = body_model(66.09, 124.3, heavy, 10.0, 22.5, 1.4, 9.0)
    assert got == pytest.approx((mass * factor, cg), rel=1e-12)


@given(diameter=st.floats(20.0, 120.0))
def test_base_scales_with_the_diameter(diameter: float) -> None:
    base, usual = base_shape(diameter), base_shape(66.09)
    for key in ("dome_depth_mm", "dome_rim_radius_mm", "bead_radius_mm", "base_height_mm"):
        assert base[key] / diameter == pytest.approx(usual[key] / 66.09)


def test_a_wide_recess_leaves_less_bead() -> None:
    mass, cg = body_model(66.0, 124.0, GAUGES, 10.0, 33.0, 1.4, 9.0)
    wide = integrated(66.0, 124.0, GAUGES, 10.0, 33.0, 0.0, 9.0)
    assert (mass, cg) == pytest.approx(wide, rel=1e-10)


def test_bodies_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="height_mm"):
        body_model(66.0, 28.9, GAUGES, 10.0, 22.5, 1.4, 9.0)
    with pytest.raises(InputError, match="diameter_mm"):
        body_model(3.0, 124.0, GAUGES, 0.1, 1.0, 0.1, 0.4)
    with pytest.raises(InputError, match="dome_rim_radius_mm"):
        body_model(66.0, 124.0, GAUGES, 10.0, 33.1, 1.4, 9.0)
    with pytest.raises(InputError, match="thin_wall_mm"):
        Gauges(0.25, 0.0, 0.155, 20.0, 2720.0)


def test_metals_agree_with_the_published_values(published: Any) -> None:
    aluminium, steel = metal("aluminium"), metal("steel")
    assert published["M03"].agrees(aluminium["density_kg_per_m3"].value)
    assert published["M04"].agrees(aluminium["density_kg_per_m3"].value)
    assert published["M01"].agrees(aluminium["expansion_per_K"].value)
    assert published["M02"].agrees(aluminium["expansion_per_K"].value)
    assert published["M08"].agrees(steel["density_kg_per_m3"].value)


def test_unknown_metals_are_named() -> None:
    with pytest.raises(InputError, match="aluminium"):
        metal("aluminum")
