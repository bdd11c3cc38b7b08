from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from packsim.line import Kicks
from packsim.pack.near import list_near
from packsim.passage.going_down import tips_of
from packsim.passage.kicks import StepKicks, draw_kicks, place_index
from packsim.passage.laid import SortedPack, laid_pack, sorted_pack
from packsim.passage.seen import StepLook, looked_over
from packsim.passage.state import State, no_counts
from packsim.passage.step import start, start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track, build_track
from packsim.spray.grids import Stretch
from packsim.spray.least_energy import LeastEnergy, least_in, may_tip
from packsim.tipping.overturning import chain_energy_mJ, lean_energy_mJ
from tests.passage.conftest import loaded

D = 66.0


def state_of(place: np.ndarray, stages: int = 1) -> State:
    n = place.size
    radius = np.full(n, D / 2)
    return State(
        place_mm=place,
        radius_mm=radius,
        id=np.arange(n),
        down_rad=np.zeros(n),
        fell_rad=np.zeros(n),
        span_mm=np.zeros(n),
        near=list_near(place, radius),
        kicks=no_counts(stages),
        tips=no_counts(stages),
        cans_in=n,
    )


def row_scene(gaps: list[float]):
    """A row straight across; gaps[0] at the left guide, gaps[-1] at the right one."""
    n = len(gaps) - 1
    y = D / 2 + np.cumsum(gaps[:-1]) + D * np.arange(n)
    place = 500.0 + 1j * y
    low = np.full(n, D / 2)
    high = np.full(n, n * D + sum(gaps) - D / 2)
    return sorted_pack(place, np.full(n, D / 2), low, high)


def looked_at(scene: SortedPack, state: State, track: Track) -> StepLook:
    """A look at the cans of a scene, all of them in the first stage."""
    looked, stage = looked_over(state, track), np.zeros(len(state), np.int16)
    limits = {name: getattr(scene, name) for name in ("low_mm", "high_mm", "guide")}
    return looked._replace(stage=stage, **limits)


@settings(max_examples=8)
@given(seed=st.integers(0, 9999), whole=st.booleans())
def test_cells_sorted_some_steps_ago_find_the_same_cans(line, can, seed: int, whole: bool) -> None:
    track = build_track(line(6, (20.0,), kicks=Kicks(0.0, 4.0, 0.5, 8.0), fill=0.9), can)
    rng = np.random.default_rng(seed)
    state = start(track, rng) if whole else start_slice(track, rng, 700.0)
    for _ in range(9):
        state, _ = step(state, track, 0.05, rng)
    laid = laid_pack(state, can.height_mm, *track.limits_mm(state.station_mm, state.radius_mm)[:2])
    assert abs(laid.cells.moved_mm) > 0.5
    assert laid.cells.loose_mm > 0.5
    anew = sorted_pack(state.place_mm, state.radius_mm, *laid[2:4], state.period_mm)
    who = rng.integers(0, len(state), 300)
    asked = who, np.exp(2j * np.pi * rng.random(300)), np.full(300, 124.0)
    for found, expected in zip(
        laid.free_travel_mm(*asked), anew.free_travel_mm(*asked), strict=True
    ):
        assert np.array_equal(found, expected)


@settings(max_examples=min(30, settings().max_examples))
@given(seed=st.integers(0, 9999))
def test_the_ray_cast_against_swept_discs(seed: int) -> None:
    """shapely: the disc swept along the ray first meets another where their distance is 0."""
    rng = np.random.default_rng(seed)
    place = rng.uniform(0, 400, 12) + 1j * rng.uniform(0, 400, 12)
    place = place[np.abs(place - place[0]) > D]
    place = np.concatenate(([200 + 200j], place[np.abs(place - (200 + 200j)) > D]))
    scene = sorted_pack(
        place, np.full(place.size, D / 2), np.zeros(place.size), np.zeros(place.size)
    )
    turn = rng.uniform(-math.pi, math.pi)
    travel, met = scene.free_travel_mm(
        np.array([0]), np.exp(1j * np.array([turn])), np.array([150.0])
    )
    reach = min(float(travel[0]), 150.0)
    end = place[0] + reach * np.exp(1j * turn)
    path = shapely.LineString([(place[0].real, place[0].imag), (end.real, end.imag)])
    others = [shapely.Point(z.real, z.imag) for z in place[1:]]
    clear = [path.distance(point) for point in others]
    if met[0] < 0:
        assert all(distance > D - 1e-6 for distance in clear)
    else:
        assert min(clear) == pytest.approx(D, abs=1e-6)
        assert clear[met[0] - 1] == pytest.approx(D, abs=1e-6)


@given(
    gaps=st.lists(st.floats(0.0, 30.0), min_size=2, max_size=6),
    which=st.integers(0, 5),
    right=st.booleans(),
)
def test_a_row_across_costs_what_the_chain_formula_says(
    line, can, gaps: list[float], which: int, right: bool
) -> None:
    track = build_track(line(), can)
    n = len(gaps) - 1
    who = which % n
    stance = can.stance()
    chain = gaps[who + 1 :] if right else gaps[who::-1]
    expected = float(chain_energy_mJ(chain, stance, (40.0, 90.0)))
    got = needed_mJ(
        row_scene(gaps), track, np.array([who]),
        np.array([math.pi / 2 if right else -math.pi / 2]), np.array([0]),
    )[0]  # fmt: skip
    assert got == pytest.approx(expected, rel=1e-9)


@given(first=st.floats(0.02, 0.3), second=st.floats(0.02, 0.3), gap=st.floats(0.0, 10.0))
def test_each_can_of_a_chain_has_the_load_of_its_own_place(line, can, first, second, gap) -> None:
    """A can that leans from one load on to a can under another, along travel."""
    track = loaded(
        build_track(line(), can), Stretch(0.0, 500.0, first, 0.3), Stretch(500.0, 1e3, second, 0.5)
    )
    place = np.array([450.0, 450.0 + D + gap]) + 400.0j
    low, high = np.full(2, D / 2), np.full(2, 800.0)
    scene = sorted_pack(place, np.full(2, D / 2), low, high)
    got = needed_mJ(scene, track, np.array([0]), np.zeros(1), np.zeros(1, int))[0]
    left = max(0.0, 124.0 * math.sin(first) - gap)
    lean = min(math.asin(left / 124.0), second)
    share = (math.cos(second - lean) - math.cos(second)) / (1.0 - math.cos(second))
    assert got == pytest.approx(0.3 + 0.5 * share, rel=1e-9)
    # the same two cans elsewhere on the line are both under the first load
    scene = sorted_pack(place, np.full(2, D / 2), low, high, station_mm=np.full(2, 20.0))
    got = needed_mJ(scene, track, np.array([0]), np.zeros(1), np.zeros(1, int))[0]
    share = (math.cos(first - min(math.asin(left / 124.0), first)) - math.cos(first)) / (
        1.0 - math.cos(first)
    )
    assert got == pytest.approx(0.3 * (1.0 + share), rel=1e-9)


def test_a_budget_only_cuts_off_what_is_dearer(line, can) -> None:
    track = build_track(line(), can)
    scene = row_scene([5.0, 8.0, 20.0, 35.0])
    args = (np.arange(3), np.full(3, math.pi / 2), np.zeros(3, int))
    full = needed_mJ(scene, track, *args)
    budget = float(np.median(full))
    cut = needed_mJ(scene, track, *args, budget)
    assert np.array_equal(cut[full <= budget], full[full <= budget])
    assert np.isinf(cut[full > budget]).all()


def test_a_hold_down_below_the_balance_point_stops_every_tip(line, can) -> None:
    scene = row_scene([60.0, 60.0, 60.0])
    args = (np.arange(2), np.full(2, math.pi / 2), np.zeros(2, int))
    free = needed_mJ(scene, build_track(line(), can), *args)
    held = needed_mJ(scene, build_track(line(hold_down_mm=128.0), can), *args)
    assert np.isfinite(free).all()
    assert np.isinf(held).all()


def test_the_least_energy_is_that_of_a_can_alone(line, can) -> None:
    track = build_track(line(), can)
    stance = can.stance()
    alone = float(lean_energy_mJ(stance.balance_angle_rad, stance))
    assert track.standing.least.energy_mJ == pytest.approx(alone, rel=1e-12)
    for place in (-50.0, 0.0, 500.0, 2000.0):
        assert least_in(track.standing.least, 0, place, -3.0) == pytest.approx(alone, rel=1e-12)


def test_a_kick_is_left_out_only_where_no_can_tips_with_it(line, can) -> None:
    """Between headers at the energy of a can alone, under them by place and direction."""
    low, high = np.full((1, 2), 0.2), np.array([[0.1, 0.3], [0.5, 0.1]])
    least = LeastEnergy(
        np.array([0.0, 1000.0]), np.array([1.0, 10.0]), np.array([0, 1]), np.array([1, 2]),
        np.repeat(np.concatenate([low, high]), 6, axis=1), np.array([0.2, 0.1]),
    )  # fmt: skip
    station = np.array([500.0, 1001.0, 1009.0, 5000.0])
    who, turn = np.array([0, 0, 1, 1, 2, 2, 3]), np.array([0.0, 3.0, 3.0, 3.3, 6.8, -3.0, 0.1])
    energy = np.array([0.21, 0.2, 0.11, 0.29, 0.49, 0.11, 0.51])
    got = may_tip((who, turn, energy), station, np.array([1000.0]), least)
    assert got.tolist() == [0, 2, 5, 6]


@pytest.mark.parametrize(
    "gaps", [[300.0, 300.0], [10.0, 25.0, 30.0], [45.0, 0.0, 5.0]], ids=["alone", "chain", "edge"]
)
def test_the_chance_of_a_kick_is_the_exponential_of_the_static_answer(line, can, gaps) -> None:
    """200 000 kicks of even direction; expected chance by quadrature over the direction."""
    kick = 0.9
    track = build_track(line(kicks=Kicks(kick, 2.0)), can)
    scene = row_scene(gaps)
    rng = np.random.default_rng(7)
    state = state_of(scene.place_mm)
    count = 200_000
    turn = rng.uniform(-math.pi, math.pi, count)
    who = np.zeros(count, int)
    energy = rng.exponential(kick, count)
    needed = needed_mJ(scene, track, who, turn, who, energy)
    tipped = int((energy > needed).sum())
    grid = (np.arange(4000) + 0.5) * 2 * math.pi / 4000
    static = needed_mJ(scene, track, np.zeros(4000, int), grid, np.zeros(4000, int))
    expected = float(np.exp(-static / kick).mean())
    assert expected > 0.01
    low, high = stats.binomtest(tipped, count).proportion_ci(0.9999)
    assert low < expected < high
    # and the same through the door the simulation uses: each can counts once
    some = slice(0, 50)
    kick = StepKicks(who[some], who[some], np.zeros(50, complex), turn[some], energy[some])
    events = tips_of(state, track, kick, looked_at(scene, state, track))
    assert len(events) == min(1, int((energy[some] > needed[some]).sum()))


def test_kicks_are_poisson_with_the_stage_rate_and_even_in_direction(line, can) -> None:
    kicks = (Kicks(0.05, 2.0, 0.2), Kicks(0.1, 5.0, 0.3))
    track = build_track(line(slacks=(6.0, 6.0), kicks=kicks), can)
    rng = np.random.default_rng(2)
    stage = np.repeat([0, 1, -1], 3000)
    tipped = np.zeros(9000, bool)
    tipped[:100] = True
    station = np.zeros(9000)
    rate = np.where(tipped, 0.0, track.shaking.rate_per_s(stage, station))
    ladder = np.arange(9001), stage, np.append(0.0, np.cumsum(rate))
    draws = [draw_kicks(track, ladder, station, tipped, 0.05, rng) for _ in range(200)]
    each = np.zeros(9000)
    for kick in draws:
        each += np.bincount(kick.can, minlength=9000)
    assert each[tipped].sum() == 0
    assert each[stage == -1].sum() == 0
    for k, rate in ((0, 2.0), (1, 5.0)):
        counts = each[(stage == k) & ~tipped]
        mean = rate * 0.05 * 200
        assert counts.mean() == pytest.approx(mean, rel=4 / math.sqrt(mean * counts.size))
        assert counts.var() == pytest.approx(mean, rel=0.12)  # Poisson: variance = mean
    move = np.concatenate([kick.move_mm[kick.stage == 1] for kick in draws])
    assert move.real.std() == pytest.approx(0.3, rel=0.02)
    assert move.imag.std() == pytest.approx(0.3, rel=0.02)
    turn = np.concatenate([kick.direction_rad for kick in draws])
    assert stats.kstest(turn, stats.uniform(-math.pi, 2 * math.pi).cdf).pvalue > 1e-4
    energy = np.concatenate([kick.energy_mJ[kick.stage == 0] for kick in draws])
    assert stats.kstest(energy, stats.expon(scale=0.05).cdf).pvalue > 1e-4


def test_places_are_edges_within_a_lane_pitch() -> None:
    y = np.array([33.0, 89.0, 91.0, 200.0, 310.0, 367.0])
    places = place_index(y, np.full(6, 33.0), np.full(6, 367.0), 57.2)
    assert places.tolist() == [0, 0, 1, 1, 2, 2]
    # a strip one can wide: the nearer guide, the left one if equal
    assert [place_index(y, 33.0, 39.0, 57.2) for y in (36.0, 38.0)] == [0, 2]


def test_a_lifted_can_goes_with_any_kick(line, can) -> None:
    track = build_track(line(kicks=Kicks(0.01, 2.0)), can)
    track = loaded(track, Stretch(0.0, 1000.0, 0.0, 0.0))
    scene = row_scene([1.0, 1.0])
    state = replace(state_of(scene.place_mm))
    zero = np.zeros(1, int)
    kick = StepKicks(zero, zero, np.zeros(1, complex), np.zeros(1), np.full(1, 1e-6))
    assert len(tips_of(state, track, kick, looked_at(scene, state, track))) == 1
