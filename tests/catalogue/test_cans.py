"""Catalogue sizes and cans of one's own: what is taken over, recomputed, assumed, refused."""

from __future__ import annotations

import math
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.can import Can
from packsim.catalogue import Gauges, can_size, catalogue_sizes, custom_can, metal
from packsim.errors import InputError

IDS = [row.id for row in catalogue_sizes()]


def assumed_keys(can: Can) -> list[str]:
    return [re.sub(r"^sizes\[.*\]\.", "", entry.key) for entry in can.assumed]


@pytest.mark.parametrize("size_id", IDS)
def test_every_size_makes_a_can(size_id: str) -> None:
    can = can_size(size_id)
    assert can.name == size_id
    assert 0.57 < can.cg_mm / can.height_mm < 0.61  # inverted: the heavy base is on top
    assert {"height", "mass", "cg_height"} <= set(assumed_keys(can))
    assert can.stance(1.0).balance_angle_rad < can.stance().balance_angle_rad


@pytest.mark.parametrize(
    ("size_id", "grams", "cg", "dry_deg"),
    [
        ("eu_330ml_std", 9.8, 70.3, 25.2),
        ("us_16oz_473ml", 12.1, 92.8, 19.6),
        ("slim_250ml", 8.3, 78.3, 18.7),
        ("sleek_355ml", 10.3, 90.4, 17.8),
        ("us_24oz_710ml", 15.7, 112.6, 17.9),
        ("eu_1l", 19.6, 120.8, 19.2),
    ],
)
def test_sizes_against_estimates_with_a_lumped_base(
    size_id: str, grams: float, cg: float, dry_deg: float
) -> None:
    # made independently of this model, same gauges
    can = can_size(size_id)
    assert can.mass_kg * 1e3 == pytest.approx(grams, rel=0.012)
    assert can.cg_mm == pytest.approx(cg, rel=0.01)
    assert can.stance().balance_angle_rad * 180.0 / math.pi == pytest.approx(dry_deg, abs=0.2)


def test_read_values_are_not_assumed_and_the_rest_is() -> None:
    can = can_size("us_12oz_std", name="now")
    assert assumed_keys(can) == ["height", "mass", "cg_height", "dome_depth", "dome_rim_radius"]
    by_key = {entry.key: entry for entry in can.assumed}
    mass = by_key["sizes[now].mass"]
    assert mass.value == "10.18 g"
    assert "0.097 mm" in mass.why
    assert "122.4 to 126.4" in by_key["sizes[now].height"].why


def test_carried_and_remembered_values_are_assumed() -> None:
    by_key = {entry.key: entry.why for entry in can_size("sleek_330ml", name="s").assumed}
    assert "patent" in by_key["sizes[s].diameter"]
    assert "memory" in by_key["sizes[s].diameter_tol"]
    assert "sizes[s].dome_depth" not in by_key  # read in a patent claim
    assert {"expansion", "specific_heat"} <= set(assumed_keys(can_size("eu_1l", metal="steel")))


def test_given_values_stand_and_are_not_assumed() -> None:
    given = {
        "diameter_mm": 66.2,
        "height_mm": 125.0,
        "mass_kg": 0.0111,
        "cg_mm": 75.5,
        "dome_depth_mm": 10.8,
        "dome_rim_radius_mm": 22.9,
        "diameter_tol_mm": 0.1,
        "expansion_per_K": 2.3e-5,
        "specific_heat_J_per_kgK": 900.0,
    }
    for can in (can_size("us_12oz_std", name="mine", **given), custom_can("mine", **given)):
        assert can == Can("mine", **given)
        assert can.assumed == ()


def test_mass_and_centre_follow_an_overridden_size() -> None:
    base = can_size("us_12oz_std")
    taller = can_size("us_12oz_std", height_mm=134.3)
    # ten millimetres more thin wall: pi (D - t) t 10 mm at 2720 kg/m3
    assert taller.mass_kg - base.mass_kg == pytest.approx(
        3.14159265 * 65.993 * 0.097 * 10 * 2720e-9
    )
    assert taller.cg_mm > base.cg_mm
    wider = can_size("us_12oz_std", diameter_mm=70.0)
    assert wider.dome_depth_mm == pytest.approx(10.0 * 70.0 / 66.09)
    assert wider.mass_kg > base.mass_kg
    heavy = can_size("us_12oz_std", gauges=Gauges(0.30, 0.11, 0.16, 20.0, 2720.0))
    assert heavy.mass_kg > base.mass_kg
    assert "given gauges" in heavy.assumed[1].why
    weighed = can_size("us_12oz_std", height_mm=134.3, mass_kg=base.mass_kg)
    assert (weighed.mass_kg, weighed.cg_mm) == (base.mass_kg, taller.cg_mm)


def test_none_counts_as_not_given() -> None:
    assert can_size("eu_1l", mass_kg=None, cg_mm=None) == can_size("eu_1l")


def test_diameter_and_height_are_enough_for_a_can_of_ones_own() -> None:
    can = custom_can("house can", 66.09, 124.3)
    assert can == can_size("us_12oz_std", name="house can")
    assert assumed_keys(can) == [
        "diameter_tol",
        "mass",
        "cg_height",
        "dome_depth",
        "dome_rim_radius",
    ]
    steel = custom_can("house can", 66.09, 124.3, metal="steel")
    assert steel.mass_kg > 2.0 * can.mass_kg
    assert steel.expansion_per_K == metal("steel")["expansion_per_K"].value


@given(diameter=st.floats(40.0, 100.0), height=st.floats(50.0, 250.0), more=st.floats(0.1, 50.0))
def test_a_taller_can_is_heavier_and_less_stable(
    diameter: float, height: float, more: float
) -> None:
    short, tall = custom_can("a", diameter, height), custom_can("a", diameter, height + more)
    assert tall.mass_kg > short.mass_kg
    assert tall.cg_mm > short.cg_mm
    assert tall.stance().balance_angle_rad < short.stance().balance_angle_rad


def test_unknown_names_list_the_closest_and_all() -> None:
    with pytest.raises(InputError) as caught:
        can_size("us_12oz")
    text = str(caught.value)
    assert text.index(
        "us_12oz_std perhaps" if "us_12oz_std perhaps" in text else "us_12oz_std"
    ) < text.index("one of")
    assert all(size_id in text for size_id in IDS)
    with pytest.raises(InputError, match="diameter_mm"):
        can_size("us_12oz_std", diametre_mm=66.0)
    with pytest.raises(InputError, match="one of aluminium, steel"):
        can_size("us_12oz_std", metal="wood")


@pytest.mark.parametrize(
    "bad",
    [
        {"diameter_mm": 0.0, "height_mm": 120.0},
        {"diameter_mm": 66.0, "height_mm": float("nan")},
        {"diameter_mm": 66.0, "height_mm": 20.0},
        {"diameter_mm": 66.0, "height_mm": 120.0, "mass_kg": -1.0},
        {"diameter_mm": 66.0, "height_mm": 120.0, "dome_rim_radius_mm": 40.0},
        {"diameter_mm": 66.0, "height_mm": 120.0, "dome_depth_mm": -1.0},
    ],
)
def test_impossible_cans_are_refused(bad: dict[str, float]) -> None:
    with pytest.raises(InputError):
        custom_can("x", **bad)


def test_a_can_needs_a_name() -> None:
    with pytest.raises(InputError, match="name"):
        custom_can(" ", 66.0, 124.0)


def test_the_catalogue_needs_neither_units_nor_schema_nor_arrays() -> None:
    code = (
        "import sys, packsim.catalogue as c; c.can_size('us_12oz_std');"
        "heavy = {'pydantic', 'numpy', 'scipy', 'shapely', 'typer'} & set(sys.modules);"
        "sys.exit(', '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
