"""The chance against cases that can be solved by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from packsim.chance.directions import turned_pack
from packsim.chance.keep import Passage
from packsim.chance.line_chance import LEAST_REPEATS, LineChance, _settled
from packsim.chance.sample import Plan, sampled
from packsim.chance.spectrum import GRID_MJ, shared_out
from packsim.line import Kicks, Mat, Scenario
from packsim.passage.laid import sorted_pack
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track, build_track
from packsim.tipping.overturning import RowLoad, lean_energy_mJ
from packsim.tipping.row_chance import log_kick_chances
from tests.passage.conftest import CAN, lane_width, make_stage

D, WIRE = 66.0, 90.0
ALPHA = CAN.stance().balance_angle_rad
ALONE = float(lean_energy_mJ(ALPHA, CAN.stance()))


def settled(track: Track, accuracy: float = 0.05, plan: Plan | None = None) -> LineChance:
    kicks = dict(zip(track.stages, track.shaking.energy_mJ.tolist(), strict=True))
    return _settled(Passage.along(track), 5, kicks, accuracy, plan or Plan(), None)


def lone(side: float, rate: float = 2.0, kick: float = 0.06) -> Track:
    """Cans one behind the other, too far apart to touch, that nothing moves."""
    stage = make_stage(
        "one", length=900.0, width=D + 40.0, kicks=Kicks(kick, rate, 0.0), fill=0.3, state="slack"
    )
    mat = Mat(1600.0, 90.0, pack_enters=side)
    return build_track(Scenario("lone", "", mat, (stage,), (CAN,), CAN.name), CAN)


@pytest.mark.parametrize(
    "side", [0.25, 1.0, *(pytest.param(side, marks=pytest.mark.all) for side in (0.0, 0.5, 0.9))]
)
def test_one_can_between_two_walls(side: float) -> None:
    """A guide at gap g lets a can over where g / |sin φ| reaches z tan α: an arc on either side."""
    kick, seconds = 0.06, 10.0
    gaps = np.array([side, 1.0 - side]) * 40.0
    free = 2.0 * np.arcsin(np.minimum(1.0, gaps / (WIRE * math.tan(ALPHA)))) / (2.0 * math.pi)
    expected = 1e6 * -math.expm1(-2.0 * seconds * free.sum() * math.exp(-ALONE / kick))
    found = settled(lone(side), plan=Plan(cans=9, look_mm=8.0))
    assert found.tips_per_million == pytest.approx(expected, rel=0.02)


def test_twice_the_kicks_tip_twice_as_many() -> None:
    once, twice = (settled(lone(0.25, rate=rate), plan=Plan(cans=9)) for rate in (2.0, 4.0))
    assert twice.tips_per_million == pytest.approx(2.0 * once.tips_per_million, rel=0.02)


def test_cans_that_nothing_is_near_are_tipped_in_the_centre_by_every_kick() -> None:
    """One can behind the other, farther from the guides and each other than any leans."""
    kick, seconds = 0.06, 10.0
    stage = make_stage(
        "one", length=900.0, width=lane_width(3), kicks=Kicks(kick, 2.0, 0.0), fill=0.1
    )
    track = build_track(Scenario("far", "", Mat(1600.0, 90.0), (stage,), (CAN,), CAN.name), CAN)
    found = settled(track, plan=Plan(cans=9)).stages[0].by_place
    expected = -1e6 * math.expm1(-2.0 * seconds * math.exp(-ALONE / kick))
    assert found == pytest.approx((0.0, expected, 0.0), rel=0.01)


def test_a_repeat_is_the_same_however_hard_its_kicks_are() -> None:
    """Nothing tips in it: the barriers are looked at alone."""
    weak, hard = (
        sampled(lone(0.3, kick=kick), np.random.SeedSequence(4), Plan(cans=9))[0]
        for kick in (0.06, 60.0)
    )
    assert weak.nnz > 0
    assert (weak != hard).nnz == 0


def test_no_more_repeats_are_run_than_an_answer_takes() -> None:
    track, few = lone(0.5, rate=0.0), Plan(cans=9)
    cans = len(track.infeed) * few.stretches(len(track.infeed), track.infeed.length_mm)
    assert settled(track, plan=few).cans == LEAST_REPEATS * cans


def test_without_kicks_nothing_tips() -> None:
    few = Plan(cans=9)
    assert settled(lone(0.5, rate=0.0), plan=few).tips_per_million == 0.0
    assert settled(lone(0.5, kick=0.0), plan=few).tips_per_million == 0.0
    endless = settled(lone(0.5, rate=20.0), plan=few).at({"one": 1e9})
    assert endless.tips_per_million == pytest.approx(1e6, rel=1e-9)


@pytest.mark.parametrize("slack", [40.0, 75.0])
def test_one_row_against_the_gaps_of_a_tonks_gas(slack: float) -> None:
    """Hard discs in a row have the spacings of random points [tonks1936]_: integrals are exact."""
    n, rows, kick = 4, 40_000, 0.25
    rng = np.random.default_rng(8)
    gaps = np.diff(np.sort(rng.random((rows, n)), axis=1) * slack, axis=1, prepend=0.0)
    y = D / 2 + np.cumsum(gaps, axis=1) + D * np.arange(n)
    place = (500.0 * np.arange(rows)[:, None] + 1j * y).ravel()
    stage = make_stage("row", width=n * D + slack)
    track = build_track(Scenario("row", "", Mat(1600.0, 90.0), (stage,), (CAN,), CAN.name), CAN)
    low, high = np.full(place.size, D / 2), np.full(place.size, n * D + slack - D / 2)
    pack = sorted_pack(place, np.full(place.size, D / 2), low, high)
    turn = np.array([-math.pi / 2, math.pi / 2])
    turned = turned_pack(pack, track, turn, np.full((1, place.size), 500.0))
    can = np.arange(2 * place.size)
    towards = np.repeat(turn, place.size)
    needed = needed_mJ(turned, track, can, towards, np.zeros(can.size, dtype=int))
    finite = np.flatnonzero(np.isfinite(needed))
    bins, weight = shared_out(needed[finite], 1.0)
    which = np.tile(finite, 2)
    row = which // place.size * n + which % n
    tips = np.bincount(row, weight * np.exp(-GRID_MJ[bins] / kick), 2 * n) / rows
    load = RowLoad(n, CAN.stance(), (40.0, WIRE))
    exact = np.exp(log_kick_chances(slack, load, np.array([kick]))[0])
    assert tips[:n] == pytest.approx(exact, rel=0.06)
    assert tips[n:] == pytest.approx(exact[::-1], rel=0.06)


def test_a_line_that_is_its_own_mirror_tips_alike_left_and_right() -> None:
    stage = make_stage("mirror", width=lane_width(4) + 50.0, kicks=Kicks(0.15, 2.0, 4.0), fill=0.8)
    scenario = Scenario("mirror", "", Mat(1600.0, 90.0), (stage,), (CAN,), CAN.name)
    found = settled(build_track(scenario, CAN), 0.2, Plan(cans=60))
    (left, _, right), interval = found.stages[0].by_place, found.stages[0].by_place_interval
    assert left > 0.0
    assert interval[0, 0] < right < interval[0, 1]
    assert interval[2, 0] < left < interval[2, 1]
    sides = [
        settled(
            build_track(replace(scenario, mat=replace(scenario.mat, pack_enters=s)), CAN),
            0.2,
            Plan(cans=60),
        )
        for s in (0.0, 1.0)
    ]
    assert sides[0].line.interval[0] < sides[1].tips_per_million < sides[0].line.interval[1]
