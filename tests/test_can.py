"""The can body: balance angles, the pool in its dome, and what it refuses to be."""

from __future__ import annotations

import math
from typing import Any

import mpmath
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.can import Can, Stance, cap_depth_mm, cap_volume_mm3
from packsim.constants import WATER_KG_PER_MM3
from packsim.errors import InputError

CAN = Can("12 oz", 66.09, 124.3, 0.0102, 74.2, 10.0, 22.5)


def slices(depth_mm: float, sphere_mm: float) -> tuple[float, float]:
    """Volume of a cap and height of its centroid over its deepest point, by integrating discs."""

    def disc(z: Any) -> Any:
        return mpmath.pi * (2 * sphere_mm * z - z * z)

    volume = mpmath.quad(disc, [0, depth_mm])
    return float(volume), float(mpmath.quad(lambda z: z * disc(z), [0, depth_mm]) / volume)


# --- balance ----------------------------------------------------------------------------------


def test_block_10_by_15_tips_at_its_published_angle(published: Any) -> None:
    # R01: the figure is plane, so a cylinder as wide as the block balances alike
    row = published["R01"]
    block = Stance(2 * row.inputs["b"], 2 * row.inputs["h"], 1.0, row.inputs["h"])
    assert row.agrees(math.degrees(block.balance_angle_rad))


def test_block_half_as_wide_as_high_tips_at_its_published_angle(published: Any) -> None:
    row = published["R02"]
    block = Stance(row.inputs["b_over_h"], 1.0, 1.0, 0.5)
    assert row.agrees(math.degrees(block.balance_angle_rad))


@pytest.mark.parametrize(("ratio", "angle_deg"), [(1.0, 45.0), (1 / math.sqrt(3), 30.0)])
def test_solid_cylinder_balances_where_the_diagonal_stands_upright(
    ratio: float, angle_deg: float
) -> None:
    rod = Stance(100.0 * ratio, 100.0, 1.0, 50.0)
    assert math.degrees(rod.balance_angle_rad) == pytest.approx(angle_deg, rel=1e-14)


def test_arm_and_weight() -> None:
    stance = Stance(60.0, 100.0, 2.0, 40.0)
    assert stance.arm_mm == 50.0  # 3-4-5 triangle
    assert stance.weight_N == pytest.approx(19.6133, rel=1e-15)  # BIPM standard gravity


def test_twelve_ounce_body_dry_and_pooled() -> None:
    # own estimate by hand: 10.2 g at 74.2 mm gives atan(33.045/74.2) = 24.0 deg; 8.5 ml of water
    # about 120.8 mm up makes 18.7 g at 95.4 mm, atan(33.045/95.4) = 19.1 deg
    assert math.degrees(CAN.stance().balance_angle_rad) == pytest.approx(24.0, abs=0.05)
    assert CAN.dome_volume_mm3 == pytest.approx(8500.0, abs=50.0)
    full = CAN.stance(pool_fraction=1.0)
    assert full.cg_mm == pytest.approx(95.4, abs=0.1)
    assert math.degrees(full.balance_angle_rad) == pytest.approx(19.1, abs=0.05)


# --- the cap ----------------------------------------------------------------------------------


def test_half_and_whole_sphere() -> None:
    assert cap_volume_mm3(1.0, 1.0) == pytest.approx(2.0 * math.pi / 3.0, rel=1e-15)
    assert cap_volume_mm3(2.0, 0.0) == pytest.approx(4.0 * math.pi / 3.0, rel=1e-15)
    assert cap_depth_mm(2.0 * math.pi / 3.0, 1.0) == pytest.approx(1.0, rel=1e-15)
    assert cap_depth_mm(4.0 * math.pi / 3.0, 1.0) == pytest.approx(2.0, rel=1e-7)
    assert cap_depth_mm(5.0, 1.0) == pytest.approx(2.0, rel=1e-15)
    assert cap_depth_mm(0.0, 1.0) == 0.0


@pytest.mark.parametrize(("depth", "rim"), [(10.0, 22.5), (1e-3, 22.5), (22.5, 22.5), (30.0, 20.0)])
def test_cap_volume_against_integrated_discs(depth: float, rim: float) -> None:
    sphere = (rim**2 + depth**2) / (2.0 * depth)
    assert cap_volume_mm3(depth, rim) == pytest.approx(slices(depth, sphere)[0], rel=1e-12)


@given(share=st.floats(1e-18, 1.9), radius=st.floats(1e-3, 1e6))
def test_cap_depth_is_the_root_of_the_cubic(share: float, radius: float) -> None:
    volume = share / 2.0 * 4.0 * math.pi / 3.0 * radius**3
    with mpmath.workdps(40):
        depth = mpmath.mpf(cap_depth_mm(volume, radius))
        back = mpmath.pi * depth**2 * (3 * mpmath.mpf(radius) - depth) / 3
        assert abs(back / mpmath.mpf(volume) - 1) < 1e-12


@given(
    depth=st.floats(0.05, 30.0),
    rim=st.floats(1.0, 33.0),
    fraction=st.floats(1e-6, 1.0),
)
def test_pool_weighs_in_at_its_integrated_centroid(
    depth: float, rim: float, fraction: float
) -> None:
    can = Can("x", 66.09, 124.3, 0.0102, 74.2, depth, rim)
    sphere = (rim**2 + depth**2) / (2.0 * depth)
    volume = fraction * can.dome_volume_mm3
    pool_depth = float(
        mpmath.findroot(
            lambda d: mpmath.pi * d**2 * (3 * sphere - d) / 3 - volume,
            (0, depth * 1.0001),
            solver="anderson",
            tol=1e-22,
            verify=False,
        )
    )
    assume(pool_depth > 0.0)
    _, above_bottom = slices(pool_depth, sphere)
    pool_kg = volume * WATER_KG_PER_MM3
    expected = (0.0102 * 74.2 + pool_kg * (124.3 - depth + above_bottom)) / (0.0102 + pool_kg)
    stance = can.stance(pool_fraction=fraction)
    assert stance.mass_kg == pytest.approx(0.0102 + pool_kg, rel=1e-12)
    assert stance.cg_mm == pytest.approx(expected, abs=1e-6)


def test_denser_liquid_counts_by_its_mass() -> None:
    light, dense = CAN.stance(1.0), CAN.stance(1.0, liquid_kg_per_mm3=2e-6)
    assert dense.mass_kg - CAN.mass_kg == pytest.approx(2 * (light.mass_kg - CAN.mass_kg))
    assert dense.cg_mm > light.cg_mm


@given(a=st.floats(0.0, 1.0), b=st.floats(0.0, 1.0))
def test_more_pool_more_weight_higher_centre_less_balance(a: float, b: float) -> None:
    less, more = CAN.stance(min(a, b)), CAN.stance(max(a, b))
    assert more.mass_kg >= less.mass_kg
    assert more.cg_mm >= less.cg_mm - 1e-9
    assert more.balance_angle_rad <= less.balance_angle_rad + 1e-12


@given(scale=st.floats(0.1, 10.0), fraction=st.floats(0.0, 1.0))
def test_a_scaled_can_balances_at_the_same_angle(scale: float, fraction: float) -> None:
    scaled = Can(
        "x",
        CAN.diameter_mm * scale,
        CAN.height_mm * scale,
        CAN.mass_kg * scale**3,
        CAN.cg_mm * scale,
        CAN.dome_depth_mm * scale,
        CAN.dome_rim_radius_mm * scale,
    )
    angle = CAN.stance(fraction).balance_angle_rad
    assert scaled.stance(fraction).balance_angle_rad == pytest.approx(angle, rel=1e-10)


# --- limits -----------------------------------------------------------------------------------


def test_a_flat_base_holds_no_pool() -> None:
    flat = Can("x", 66.09, 124.3, 0.0102, 74.2, 0.0, 22.5)
    assert flat.stance(1.0) == flat.stance(0.0)


@pytest.mark.parametrize("depth_mm", [5e-324, 1e-200, 1e-12, 1e-6])
def test_a_nearly_flat_base_changes_next_to_nothing(depth_mm: float) -> None:
    can = Can("x", 66.09, 124.3, 0.0102, 74.2, depth_mm, 22.5)
    assert can.stance(1.0).cg_mm == pytest.approx(74.2, abs=1e-4)


def test_a_trace_of_liquid_changes_next_to_nothing() -> None:
    assert CAN.stance(1e-300).cg_mm == CAN.stance().cg_mm


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("diameter_mm", 0.0),
        ("diameter_mm", math.nan),
        ("height_mm", -1.0),
        ("mass_kg", 0.0),
        ("mass_kg", True),
        ("cg_mm", 124.0),
        ("cg_mm", 1.0),
        ("diameter_tol_mm", -0.1),
        ("diameter_tol_mm", 20.0),
        ("dome_depth_mm", 70.0),
        ("dome_rim_radius_mm", 33.1),
        ("expansion_per_K", -1e-5),
        ("specific_heat_J_per_kgK", 0.0),
    ],
)
def test_impossible_bodies_are_refused_by_name(key: str, value: float) -> None:
    good = {
        "diameter_mm": 66.09,
        "height_mm": 124.3,
        "mass_kg": 0.0102,
        "cg_mm": 74.2,
        "dome_depth_mm": 10.0,
        "dome_rim_radius_mm": 22.5,
    }
    with pytest.raises(InputError, match=key):
        Can("x", **{**good, key: value})


def test_impossible_stances_and_pools_are_refused() -> None:
    with pytest.raises(InputError, match="cg_mm"):
        Stance(66.0, 124.0, 0.01, 124.0)
    with pytest.raises(InputError, match="pool_fraction"):
        CAN.stance(1.01)
    with pytest.raises(InputError, match="liquid_kg_per_mm3"):
        CAN.stance(0.5, 0.0)
    with pytest.raises(InputError, match="volume_mm3"):
        cap_depth_mm(-1.0, 1.0)
