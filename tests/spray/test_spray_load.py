"""Whether a can under the sprays still holds, against tipping worked out edge by edge."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from packsim.can import Stance
from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.line import Header, Nozzle
from packsim.spray.jets import footprint_of, thrust_of_nozzle_N
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load, tipping_moment_N_mm
from packsim.spray.spray_load import spray_load
from packsim.spray.worst_moments import DIRECTIONS_RAD, worst_moments, worst_place

STANCE = Stance(66.0, 122.0, 0.0102, 70.0)
CONE = Nozzle("cone", math.radians(50.0), 2.5e4, 0.2)
FAN = Nozzle("fan", math.radians(70.0), 2.5e4, 0.2, math.radians(8.0), math.radians(10.0))
PENCIL = Nozzle("cone", math.radians(1.0), 1e4, 0.2, velocity_coefficient=1.0)
LINES = 120.0 + 66.0 * SIN60 * np.arange(8)


def header(
    side: str,
    first: float = 100.0,
    pitch: float = 75.0,
    count: int = 8,
    nozzle: Nozzle = CONE,
    station: float = 500.0,
    pressure: float = 0.05,
) -> Header:
    distance = 140.0 if side == "below" else 280.0
    return Header(side, station, distance, first, pitch, count, pressure, nozzle)


def test_without_sprays_the_can_stands_as_it_is() -> None:
    got = spray_load(LINES, STANCE, [], 0.6)
    assert got.hold_margin == pytest.approx(np.ones(8))
    assert got.normal_N == pytest.approx(np.full(8, STANCE.weight_N))
    assert not np.any(got.lifted)
    assert got.moment_N_mm.tolist() == [[0.0, 0.0]] * 8


def test_a_pencil_jet_from_above_at_the_rim_by_hand() -> None:
    """A thin jet T at distance e from the axis: margin 1 + T(1 − e/R)/(mg), least at the rim.

    Passing over the can it enters and leaves at the rim, where it adds nothing; along the line of
    centres the margin is never below 1 but for the jet's own small width.
    """
    jet = header("above", first=120.0, count=1, nozzle=PENCIL, pressure=0.02)
    got = spray_load([120.0], STANCE, [jet], 0.6, samples=2001)
    thrust = thrust_of_nozzle_N(jet)
    width = footprint_of(jet, STANCE.height_mm).half_long_mm
    assert got.hold_margin[0] == pytest.approx(1.0, abs=2 * thrust * width / 33.0 / 0.1)


def test_a_pencil_jet_from_below_by_hand() -> None:
    """P up at f: margin 1 − P/mg − P f/(mg R), least at the far rim: 1 − 2P/(mg) as f → R."""
    jet = header("below", first=120.0, count=1, nozzle=PENCIL, pressure=0.02)
    push = 0.6 * thrust_of_nozzle_N(jet)
    got = spray_load([120.0], STANCE, [jet], 0.6, samples=4001)
    assert got.hold_margin[0] == pytest.approx(1 - 2 * push / STANCE.weight_N, abs=0.01)
    # the push up on one rim turns the can over to the other, with an arm of a radius
    assert abs(got.moment_N_mm[0, 0]) == pytest.approx(33.0 * push, rel=0.07)


@pytest.mark.parametrize("nozzle", [CONE, FAN])
def test_margin_is_the_least_over_every_edge(nozzle: Nozzle) -> None:
    """The closed form of the worst direction against scipy turning the tipping edge round."""
    got = spray_load(LINES, STANCE, [header("above", nozzle=nozzle), header("below")], 0.6)
    for i in range(len(LINES)):

        def hold(angle: float, i: int = i) -> float:
            way = np.array([math.cos(angle), math.sin(angle)])
            resist = got.normal_N[i] * 33.0 - got.moment_N_mm[i] @ way
            return float(resist / (STANCE.weight_N * 33.0))

        least = min(
            minimize_scalar(hold, bounds=(a, a + 1.6), method="bounded").fun
            for a in np.arange(4) * math.pi / 2
        )
        assert got.hold_margin[i] == pytest.approx(least, abs=1e-6)


def test_the_worst_moments_are_those_of_a_far_finer_search() -> None:
    both = [header("above", nozzle=FAN), header("below"), header("above", station=1500.0)]
    own = STANCE.balance_angle_rad
    found, energy = worst_moments(tuple(LINES), [STANCE], both, 0.6).tips(STANCE)
    bearing, leans = 2.0 * math.pi * np.arange(72) / 72, lean_nodes_rad(own)
    least = np.full(72, own)
    for along in np.array_split(np.arange(300.0, 1700.0, 2.5)[:, None, None], 8):
        moment = tipping_moment_N_mm(both, STANCE, 0.6, along, LINES[:, None], bearing, leans)
        least = np.minimum(least, tipped_under_load(moment, leans, STANCE)[0].min(axis=(0, 1)))
    assert np.degrees(np.abs(found - least[::6])).max() < 0.25
    # no direction between those looked at is much worse
    assert math.degrees(found.min() - least.min()) < 0.3
    assert np.all(energy >= 0.0)
    assert found.min() < own - 0.05


def test_a_twist_of_next_to_nothing_changes_next_to_nothing() -> None:
    """Straight sprays are looked at one way only, the other is the mirror image."""
    straight = [header("above", nozzle=replace(FAN, twist_rad=0.0)), header("below")]
    turned = [replace(straight[0], nozzle=replace(FAN, twist_rad=1e-9)), straight[1]]
    one, other = (worst_moments(tuple(LINES), [STANCE], h, 0.6) for h in (straight, turned))
    np.testing.assert_allclose(one.tips(STANCE)[0], other.tips(STANCE)[0], atol=1e-6)


@pytest.mark.parametrize("twist", [0.0, 0.3])
def test_sprays_a_hair_off_the_middle_of_the_lines_do_the_same(twist: float) -> None:
    """Symmetrical ones are asked in few directions, and these in all or nearly all."""
    fan, found = replace(FAN, twist_rad=twist), []
    for off in (0.0, 1e-7):
        first = float(LINES.mean()) - 3.5 * 75.0 + off
        both = [header("above", first, nozzle=fan), header("below", first)]
        found.append(worst_moments(tuple(LINES), [STANCE], both, 0.6).most_N_mm)
    np.testing.assert_allclose(*found, rtol=1e-6, atol=1e-6)


def test_the_worst_place_has_the_worst_angle() -> None:
    both = [header("above"), header("below")]
    own = STANCE.balance_angle_rad
    found, _ = worst_moments(tuple(LINES), [STANCE], both, 0.6).tips(STANCE)
    line, along, bearing = worst_place(LINES, STANCE, both, 0.6, DIRECTIONS_RAD)
    leans = lean_nodes_rad(own)
    there = tipping_moment_N_mm(both, STANCE, 0.6, along, LINES[line], bearing, leans)
    balance, _ = tipped_under_load(there, leans, STANCE)
    assert float(balance) == pytest.approx(float(found.min()), abs=1e-3)


def test_several_stances_at_once_tip_as_each_does_alone() -> None:
    found = worst_moments(tuple(LINES), [STANCE], [header("above"), header("below")], 0.6)
    stances = [STANCE, replace(STANCE, mass_kg=0.02), replace(STANCE, cg_mm=60.0)]
    pushes = np.array([1.0, 2.0, 0.5])
    balance, energy = found.tips(stances, pushes)
    for i, (stance, push) in enumerate(zip(stances, pushes, strict=True)):
        alone = found.tips(stance, push)
        np.testing.assert_array_equal(balance[i], alone[0])
        np.testing.assert_array_equal(energy[i], alone[1])


def test_twice_the_push_is_a_splash_factor_of_two() -> None:
    both = [header("above"), header("below")]
    hard = [replace(h, splash_factor=2.0) for h in both]
    once = worst_moments(tuple(LINES), [STANCE], both, 0.6)
    twice = worst_moments(tuple(LINES), [STANCE], hard, 0.6)
    np.testing.assert_allclose(once.tips(STANCE, 2.0)[0], twice.tips(STANCE)[0], atol=1e-3)
    assert thrust_of_nozzle_N(hard[0]) == pytest.approx(2.0 * thrust_of_nozzle_N(both[0]))


def test_a_shift_of_the_pack_changes_the_margin() -> None:
    """A fan along travel below each line: centred it only lifts, off centre it also turns."""
    along = replace(FAN, twist_rad=math.pi / 2)
    below = header("below", 120.0, 66.0 * SIN60, 8, along, pressure=0.02)
    centred, off = (
        spray_load(LINES + shift, STANCE, [below], 0.6).hold_margin for shift in (0.0, 14.0)
    )
    assert np.all(off[:-1] < centred[:-1] - 0.02)
    one = spray_load([134.0], STANCE, [replace(below, count=1)], 0.6)
    assert one.moment_N_mm[0, 1] > 0.0  # the push up on its left turns it over to the right


def test_opposed_headers_hold_better_than_the_lower_one_alone() -> None:
    below = header("below")
    alone = spray_load(LINES, STANCE, [below], 0.6)
    together = spray_load(LINES, STANCE, [below, header("above", pressure=0.05)], 0.6)
    apart = spray_load(LINES, STANCE, [below, header("above", station=1500.0)], 0.6)
    assert np.all(together.normal_N > alone.normal_N)
    # far apart the lower one acts alone, and its pass is no better than before
    assert np.all(apart.hold_margin <= alone.hold_margin + 1e-9)


def test_a_strong_lower_spray_lifts() -> None:
    got = spray_load(LINES, STANCE, [header("below", pressure=0.4)], 0.9)
    assert np.all(got.lifted)
    assert np.all(got.hold_margin < 0.0)


def test_finer_sampling_lowers_the_margin_by_ever_less() -> None:
    both = [header("above"), header("below")]
    margin = {
        n: spray_load(LINES, STANCE, both, 0.6, samples=n).hold_margin for n in (21, 41, 121, 2561)
    }
    error = {n: float(np.max(margin[n] - margin[2561])) for n in (21, 41, 121)}
    assert error[41] <= error[21]
    assert error[121] < 5e-4
    assert min(float(np.min(margin[n] - margin[2561])) for n in (21, 41, 121)) > -1e-6


@settings(max_examples=min(15, settings().max_examples))
@given(st.floats(-40.0, 40.0), st.sampled_from([CONE, FAN]))
def test_mirror_and_move(shift: float, nozzle: Nozzle) -> None:
    both = [header("above", 100.0 + shift, nozzle=nozzle), header("below", 110.0)]
    here = spray_load(LINES, STANCE, both, 0.6, samples=41)
    moved = [replace(h, first_mm=h.first_mm + 33.0, station_mm=h.station_mm + 70.0) for h in both]
    there = spray_load(LINES + 33.0, STANCE, moved, 0.6, samples=41)
    assert there.hold_margin == pytest.approx(here.hold_margin, abs=1e-7)
    turned = [
        replace(
            h,
            first_mm=900.0 - float(h.positions_mm[-1]),
            nozzle=replace(h.nozzle, twist_rad=-h.nozzle.twist_rad),
        )
        for h in both
    ]
    back = spray_load(900.0 - LINES, STANCE, turned, 0.6, samples=41)
    assert back.hold_margin == pytest.approx(here.hold_margin, abs=1e-7)


@given(st.floats(0.1, 5.0))
@settings(max_examples=10)
def test_weight_and_pressure_together_keep_the_margin(factor: float) -> None:
    """Forces scale with pressure: a can and a spray both k times as strong hold alike."""
    both = [header("above"), header("below")]
    here = spray_load(LINES, STANCE, both, 0.6, samples=21)
    heavy = Stance(66.0, 122.0, 0.0102 * factor, 70.0)
    strong = [replace(h, pressure_MPa=factor * h.pressure_MPa) for h in both]
    there = spray_load(LINES, heavy, strong, 0.6, samples=21)
    assert there.hold_margin == pytest.approx(here.hold_margin, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"lines_on_mat_mm": []}, "lines_on_mat_mm"),
        ({"open_fraction": 1.2}, "open_fraction"),
        ({"samples": 2}, "samples"),
        ({"stance": Stance(66.0, 290.0, 0.01, 70.0)}, "mat_distance_mm"),
    ],
)
def test_bad_values_are_named(change: dict[str, Any], key: str) -> None:
    good: dict[str, Any] = {
        "lines_on_mat_mm": LINES,
        "stance": STANCE,
        "headers": [header("above")],
        "open_fraction": 0.6,
    }
    with pytest.raises(InputError) as refused:
        spray_load(**(good | change))
    assert refused.value.key == key
