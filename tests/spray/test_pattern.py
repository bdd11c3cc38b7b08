"""Sprays that are not evenly wet: against thrown drops, rays, and the sum of their parts."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.errors import InputError
from packsim.line import Header, Mat, Nozzle
from packsim.line.spray import layers_of
from packsim.spray.catch import caught
from packsim.spray.dose import across_density_per_mm, band_mm, dose
from packsim.spray.jets import Footprint, footprint_of
from packsim.spray.spray_load import upright_load
from packsim.spray.sprays import axial_share

ANGLE = math.radians(60.0)
HOLLOW = Nozzle("hollow cone", ANGLE, 5e4, 0.2, hollow_share=0.7)
SLOT = Nozzle("slot", ANGLE, 5e4, 0.2, math.radians(8.0), math.radians(12.0))
FAN = Nozzle("fan", ANGLE, 5e4, 0.2, math.radians(8.0), math.radians(12.0))
TABLE = ((5.0, 12.0, 20.0, 30.0), (0.1, 0.3, 0.4, 0.2))
MEASURED = replace(
    HOLLOW,
    pattern="cone",
    measured_rad=tuple(math.radians(a) for a in TABLE[0]),
    measured_share=TABLE[1],
)
STANCE = Stance(66.0, 122.0, 0.0102, 70.0)


def header(nozzle: Nozzle, side: str = "above") -> Header:
    return Header(side, 500.0, 240.0 if side == "above" else 120.0, 300.0, 90.0, 5, 0.2, nozzle)


def patch_of(nozzle: Nozzle) -> Footprint:
    return footprint_of(header(nozzle), STANCE.height_mm)


@pytest.mark.parametrize("nozzle", [HOLLOW, SLOT, MEASURED, FAN])
def test_the_shares_are_all_of_the_flow(nozzle: Nozzle) -> None:
    assert sum(share for _, share in layers_of(nozzle)) == pytest.approx(1.0)
    patch = patch_of(nozzle)
    y = np.linspace(-patch.half_across_mm, patch.half_across_mm, 200_001)
    density = across_density_per_mm(patch, y)
    assert np.sum(density) * (y[1] - y[0]) == pytest.approx(1.0, abs=1e-4)
    # all of it lands on a can as wide as the spray
    got = caught(patch, 0.0, 0.0, patch.half_across_mm * 1.3)
    assert float(got.share) == pytest.approx(1.0, abs=1e-3)


def test_a_hollow_cone_against_drops_thrown_on_its_ring() -> None:
    rng = np.random.default_rng(3)
    patch = patch_of(HOLLOW)
    outer, count = patch.half_across_mm, 400_000
    radius = outer * np.sqrt(0.49 + 0.51 * rng.random(count))
    turn = 2.0 * math.pi * rng.random(count)
    x, y = radius * np.cos(turn), radius * np.sin(turn)
    for along, across in ((0.0, 0.0), (20.0, 35.0), (0.0, 60.0), (70.0, 40.0)):
        hit = (x - along) ** 2 + (y - across) ** 2 < 33.0**2
        got = caught(patch, along, across, 33.0)
        error = 4.0 * math.sqrt(max(hit.mean(), 1e-4) / count)
        assert float(got.share) == pytest.approx(hit.mean(), abs=error)
        assert float(got.along_mm) == pytest.approx(np.mean(x * hit), abs=error * outer)
        assert float(got.across_mm) == pytest.approx(np.mean(y * hit), abs=error * outer)
    for off in (0.0, 30.0, 70.0, 95.0):
        hit = np.mean((y - off) ** 2 + (400.0 * rng.random(count) - 200.0) ** 2 < 33.0**2)
        error = 4.0 * math.sqrt(max(hit, 1e-4) / count) * 400.0
        assert float(band_mm(patch, off, 33.0)) == pytest.approx(hit * 400.0, abs=error)
    mean_cosine = np.mean(patch.stand_off_mm / np.hypot(patch.stand_off_mm, radius))
    assert axial_share(patch) == pytest.approx(mean_cosine, abs=1e-3)


def test_a_measured_spray_puts_its_shares_where_they_were_caught() -> None:
    patch = patch_of(MEASURED)
    ends = patch.stand_off_mm * np.tan([0.0, *MEASURED.measured_rad])
    y = (np.arange(400_000) + 0.5) / 400_000 * ends[-1]
    density = 2.0 * across_density_per_mm(patch, y) * ends[-1] / len(y)
    found = [density[(y >= a) & (y < b)].sum() for a, b in pairwise(ends)]
    assert found == pytest.approx(TABLE[1], abs=1e-4)


@given(st.lists(st.floats(0.05, 1.0), min_size=1, max_size=12))
def test_any_table_is_met_at_every_stand_off(shares: list[float]) -> None:
    angles = tuple(ANGLE / 2.0 * (k + 1) / len(shares) for k in range(len(shares)))
    nozzle = replace(FAN, measured_rad=angles, measured_share=tuple(shares), twist_rad=0.0)
    patch = patch_of(nozzle)
    ends = patch.stand_off_mm * np.tan([0.0, *angles])
    y = (np.arange(100_000) + 0.5) / 100_000 * ends[-1]
    density = 2.0 * across_density_per_mm(patch, y) * ends[-1] / len(y)
    found = np.histogram(y, ends, weights=density)[0]
    assert found == pytest.approx(np.array(shares) / sum(shares), abs=2e-3)


def test_the_sheet_of_a_slot_is_even_for_a_can() -> None:
    straight = replace(SLOT, twist_rad=0.0)
    patch = patch_of(straight)
    within = np.linspace(0.0, patch.half_across_mm - 34.0, 60)
    caught_mm = band_mm(patch, within, 33.0)
    assert np.ptp(caught_mm) < 0.015 * caught_mm.mean()
    # all even: the can's area over the width of the sheet
    assert caught_mm.mean() == pytest.approx(
        math.pi * 33.0**2 / (2.0 * patch.half_across_mm), rel=3e-3
    )
    tapered = band_mm(patch_of(replace(FAN, twist_rad=0.0)), within, 33.0)
    assert tapered[0] > caught_mm[0] > 0.0
    ends = [
        float(band_mm(p, patch.half_across_mm - 6.0, 5.0))
        for p in (patch, patch_of(replace(FAN, twist_rad=0.0)))
    ]
    assert ends[0] > 1.5 * ends[1]


def test_a_full_cone_is_a_hollow_one_without_a_middle() -> None:
    full = Nozzle("cone", ANGLE, 5e4, 0.2)
    none = replace(full, pattern="hollow cone", hollow_share=0.0)
    assert patch_of(none) == patch_of(full)


def test_dose_and_load_are_those_of_the_parts() -> None:
    """A hollow cone and the cone it lacks are a full cone: flows and pushes add up.

    Pushes do as far as the rays are alike: each patch has one mean cosine, so the cones are narrow.
    """
    angle = math.radians(16.0)
    outer = header(Nozzle("cone", angle, 5e4, 0.2))
    ring = 1.0 - 0.7**2
    inner_angle = 2.0 * math.atan(0.7 * math.tan(angle / 2.0))
    inner = header(Nozzle("cone", inner_angle, 5e4 * 0.49, 0.2))
    hollow = header(replace(HOLLOW, angle_rad=angle, flow_mm3_per_s=5e4 * ring))
    lines, mat = 280.0 + 57.2 * np.arange(7), Mat(2000.0, 80.0)
    per_mm = np.full(7, 1.0 / 66.0)
    both = dose(lines, per_mm, STANCE, [inner, hollow], mat)
    whole = dose(lines, per_mm, STANCE, [outer], mat)
    assert both.top_mL == pytest.approx(whole.top_mL, rel=1e-9)
    assert both.outside_mL == pytest.approx(whole.outside_mL, rel=1e-9)
    at = np.linspace(420.0, 580.0, 41)[:, None], np.linspace(250.0, 350.0, 21)
    one = upright_load([inner, hollow], STANCE, 0.6, *at)
    other = upright_load([outer], STANCE, 0.6, *at)
    for got, want in zip(one, other, strict=True):
        assert got == pytest.approx(want, abs=0.012 * np.abs(want).max())


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"pattern": "star"}, "pattern"),
        ({"hollow_share": 1.0}, "hollow_share"),
        ({"measured_rad": (0.1, 0.2)}, "measured_share"),
        ({"measured_rad": (0.2, 0.1), "measured_share": (1.0, 1.0)}, "measured_rad"),
        ({"measured_rad": (0.1, 0.2), "measured_share": (1.0, 1.0)}, "measured_rad"),
        ({"measured_rad": (ANGLE / 2.0,), "measured_share": (0.0,)}, "measured_share"),
    ],
)
def test_what_no_nozzle_is_gets_refused(change: dict[str, object], key: str) -> None:
    with pytest.raises(InputError) as refused:
        replace(HOLLOW, **change)  # type: ignore[arg-type]
    assert refused.value.key == key
