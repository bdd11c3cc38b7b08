"""Where and how hard sprays land, against rays drawn at random, hand sums and exact cases."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from packsim.catalogue import custom_can
from packsim.line import Header, Mat, Nozzle
from packsim.spray.dose import dose
from packsim.spray.impact import (
    densest_per_mm2,
    header_work,
    momentum_per_mL_Ns,
)
from packsim.spray.inside_wall import inside_split
from packsim.spray.jets import footprint_of, thrust_of_nozzle_N
from packsim.spray.landing import landing, wet_and_dry_s

RADIUS, INNER, STAND_OFF = 33.0, 114.0, 150.0
MAT = Mat(800.0, 100.0, open_fraction=0.6)


def nozzle(pattern: str, degrees: float = 50.0, **more: float) -> Nozzle:
    return Nozzle(pattern, math.radians(degrees), 1.5e4, 0.2, **more)  # type: ignore[arg-type]


def header(side: str, of: Nozzle, count: int = 1, first: float = 400.0) -> Header:
    distance = STAND_OFF if side == "below" else 274.0
    return Header(side, 600.0, distance, first, 57.2, count, 0.2, of)


def drawn(patch: Any, hollow: float, count: int, rng: np.random.Generator) -> tuple[Any, Any]:
    """Places of rays on the mat, drawn evenly over a footprint or a ring of it."""
    out = np.sqrt(hollow**2 + (1.0 - hollow**2) * rng.random(count))
    turn = 2.0 * math.pi * rng.random(count)
    long, thin = patch.half_long_mm * out * np.cos(turn), patch.half_thin_mm * out * np.sin(turn)
    sin, cos = math.sin(patch.twist_rad), math.cos(patch.twist_rad)
    return long * sin + thin * cos, long * cos - thin * sin


@pytest.mark.parametrize("line", [0.0, 30.0, 60.0])
@pytest.mark.parametrize(
    ("of", "hollow"),
    [
        (nozzle("cone"), 0.0),
        (nozzle("fan", 60.0, twist_rad=0.3), 0.0),
        (nozzle("hollow cone", 60.0, hollow_share=0.6), 0.6),
    ],
)
def test_the_split_inside_is_that_of_rays_drawn_at_random(
    of: Nozzle, hollow: float, line: float
) -> None:
    patch = footprint_of(header("below", of), 124.0)
    split = inside_split(patch, RADIUS, INNER)
    rng = np.random.default_rng(11)
    count = 400_000
    along, across = drawn(patch, hollow, count, rng)
    at, aside = (2.0 * rng.random(count) - 1.0) * RADIUS, across - line
    through = at**2 + aside**2 < RADIUS**2
    at, aside, along, across = (x[through] for x in (at, aside, along, across))
    # where each meets the wall: the larger root of |m + a t| = R, t in stand-offs above the mat
    square, cross = along**2 + across**2, at * along + aside * across
    root = np.sqrt(cross**2 - square * (at**2 + aside**2 - RADIUS**2))
    t = (root - cross) / square
    wall = t * STAND_OFF < INNER
    slant = np.sqrt(square + STAND_OFF**2)
    outward = (along * (at + t * along) + across * (aside + t * across)) / RADIUS
    expected = [
        wall.mean(),
        np.where(wall, 0.0, STAND_OFF / slant).mean(),
        np.where(wall, outward / slant, 0.0).mean(),
    ]
    got = [
        np.interp(line, split.across_mm, each)
        for each in (split.wall_share, split.dome_push, split.wall_push)
    ]
    error = 4.0 * 0.5 / math.sqrt(len(at))
    assert got == pytest.approx(expected, abs=max(0.003, error))


def test_a_narrow_jet_under_the_middle_meets_the_dome_alone() -> None:
    patch = footprint_of(header("below", nozzle("cone", 1.0)), 124.0)
    split = inside_split(patch, RADIUS, INNER)
    middle = len(split.across_mm) // 2
    # only the chord's ends are so near the wall that a ray reaches it
    assert split.wall_share[middle] < 0.03
    assert split.dome_push[middle] == pytest.approx(1.0 - split.wall_share[middle], abs=1e-3)


def test_a_taller_can_gets_more_on_its_wall() -> None:
    patch = footprint_of(header("below", nozzle("cone")), 124.0)
    shares = [inside_split(patch, RADIUS, inner).wall_share for inner in (20.0, 60.0, 114.0, 180.0)]
    assert np.all(np.diff(shares, axis=0) >= -1e-12)


def test_impulse_on_the_dome_is_dose_times_momentum() -> None:
    can = custom_can("demo", 66.0, 124.0)
    narrow = header("above", nozzle("cone", 2.0), 3)
    lines, shares = np.array([400.0, 457.2]), np.array([0.5, 0.5])
    got = dose(lines, np.array([0.01, 0.01]), can.stance(0.0), [narrow], MAT)
    lands = landing("top", [narrow], can, lines, shares, MAT)
    speed = 0.95 * math.sqrt(2.0 * 0.2e6 / 1000.0)  # m/s
    by_hand = float(got.top_mL.mean()) * 1e-3 * speed
    assert lands.dome_impulse_Ns == pytest.approx(by_hand, rel=1e-3)
    assert momentum_per_mL_Ns(narrow) == pytest.approx(1e-3 * speed)
    assert lands.wall_share == 0.0


def test_dome_and_wall_together_are_never_more_than_the_momentum_brought() -> None:
    can = custom_can("demo", 66.0, 124.0)
    below = header("below", nozzle("cone"), 5, 300.0)
    lines, shares = np.array([380.0, 437.0]), np.array([0.5, 0.5])
    got = dose(lines, np.array([0.01, 0.01]), can.stance(0.0), [below], MAT)
    lands = landing("inside", [below], can, lines, shares, MAT)
    brought = float(got.inside_mL.mean()) * momentum_per_mL_Ns(below)
    assert 0.0 < lands.wall_impulse_Ns < brought
    assert math.hypot(lands.dome_impulse_Ns, lands.wall_impulse_Ns) < brought
    assert 0.0 < lands.wall_share < 1.0


def test_wet_and_dry_times_by_hand() -> None:
    # sprays over 0..200, 150..350 and 700..800 mm at 100 mm/s
    assert wet_and_dry_s([(750.0, 50.0), (100.0, 100.0), (250.0, 100.0)], 100.0) == (4.5, 3.5)
    assert wet_and_dry_s([(100.0, 100.0)], 50.0) == (4.0, 0.0)


def test_a_wide_can_takes_all_of_a_spray_and_its_push() -> None:
    # the footprint lies within the can's top: all of the thrust, less what goes sideways
    can = custom_can("demo", 66.0, 124.0)
    above = header("above", nozzle("cone", 10.0))
    work = header_work(above, can, np.array([400.0]), MAT, 0.98)
    tan = math.tan(math.radians(5.0))
    axial = 2.0 / (math.sqrt(1.0 + tan**2) + 1.0)
    assert work.push_N == pytest.approx(thrust_of_nozzle_N(above) * axial, rel=1e-3)
    assert work.pool_push_N == pytest.approx(work.push_N)
    half = 150.0 * tan
    assert work.impact_MPa == pytest.approx(thrust_of_nozzle_N(above) / (math.pi * half**2))
    assert work.hollow_mm == pytest.approx(work.impact_MPa * 1e6 / 9806.65 * 1000.0)
    assert work.flow_L_per_min == pytest.approx(0.9)


def test_from_below_the_mat_keeps_its_part() -> None:
    can = custom_can("demo", 66.0, 124.0)
    below = header("below", nozzle("cone", 5.0))
    shut, open_ = (
        header_work(below, can, np.array([400.0]), replace(MAT, open_fraction=x), 0.98)
        for x in (0.3, 0.6)
    )
    assert open_.push_N == pytest.approx(2.0 * shut.push_N)
    assert open_.pool_push_N == 0.0


def test_a_slot_presses_its_sheet_and_a_ring_its_ring() -> None:
    fan = footprint_of(header("above", nozzle("fan")), 124.0)
    area = math.pi * fan.half_long_mm * fan.half_thin_mm
    assert densest_per_mm2(fan) == pytest.approx(1.0 / area)
    ring = footprint_of(header("above", nozzle("hollow cone", hollow_share=0.6)), 124.0)
    area = math.pi * ring.half_long_mm**2 * (1.0 - 0.6**2)
    assert densest_per_mm2(ring) == pytest.approx(1.0 / area)


def test_no_spray_presses_harder_than_what_stops_its_jet() -> None:
    # ½ρv², v = 0.95 √(2 p / ρ): 0.95² of the pressure at the nozzle
    can = custom_can("demo", 66.0, 124.0)
    lines, stopped = np.array([400.0]), 0.95**2 * 0.2
    got = [
        header_work(header("above", nozzle("cone", degrees)), can, lines, MAT, 0.9).impact_MPa
        for degrees in (0.2, 1.0, 5.0, 60.0)
    ]
    assert got[0] == pytest.approx(stopped)
    assert got == sorted(got, reverse=True)
    assert got[-1] < 0.01 * stopped


def test_an_air_slot_on_one_can() -> None:
    """A sheet wider than the can gives it the part of its width that the can takes up."""
    can = custom_can("demo", 66.0, 124.0)
    slot = replace(nozzle("slot", 90.0), thin_angle_rad=math.radians(1.0))
    knife = replace(header("above", slot), liquid_kg_per_mm3=1.2e-9, pressure_MPa=0.02)
    work = header_work(knife, can, np.array([400.0]), MAT, 0.98)
    wide = 2.0 * 150.0 * math.tan(math.radians(45.0))
    # the mean slant of the rays that miss the can too is in the push: a bound above and below
    part = thrust_of_nozzle_N(knife) * 66.0 / wide
    assert 0.75 * part < work.push_N < part * 1.02
    assert work.medium == "gas"
    assert 0.0 < work.pool_push_N < work.push_N
