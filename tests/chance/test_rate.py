"""Means of repeats and their intervals, against Student's t and Cox's interval worked out apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.sparse import csr_array

from packsim.chance import chance_of
from packsim.chance.past_part import fitted_factor, room_of
from packsim.chance.rate import Rate, log_interval, rate_of, rates_of
from packsim.chance.sample import Plan
from packsim.chance.spectrum import FLOOR_MJ, GRID_MJ, SURE, Spectrum, shared_out
from tests.small_line import small_line, small_stage

T_3 = 3.182446  # Student's t of 3 degrees of freedom at 97.5 %, from tables


def test_repeats_of_which_one_is_none_have_students_interval() -> None:
    mean, error, down, up = log_interval(np.array([0.0, 0.5, 0.25, 0.25]))
    spread = math.sqrt((2 * 0.25**2) / 3.0) / (2.0 * 0.25)
    assert (mean, error) == pytest.approx((0.25, spread))
    assert (down, up) == pytest.approx((T_3 * spread, T_3 * spread), rel=1e-6)


@pytest.mark.parametrize("tenth", [1.0, 1e-9])
def test_repeats_far_apart_have_coxs_interval_for_a_lognormal_mean(tenth: float) -> None:
    each = np.array([0.01, 0.1, 1.0, 0.1]) * tenth
    mean, error, down, up = log_interval(each)
    logs = np.log(each)
    var = float(np.var(logs, ddof=1))
    centre = logs.mean() + var / 2.0
    half = T_3 * math.sqrt(var / 4.0 + var**2 / (2.0 * 3.0))
    plain = T_3 * error
    assert plain == pytest.approx(T_3 * each.std(ddof=1) / 2.0 / each.mean(), rel=1e-6)
    assert up == pytest.approx(max(plain, centre + half - math.log(mean)), rel=1e-6)
    assert down == pytest.approx(max(plain, math.log(mean) - centre + half), rel=1e-6)
    assert up > plain


def test_no_more_cans_tip_than_there_are() -> None:
    most = rate_of(np.array([9.9e5, 9.0e5, 9.9e5, 7.0e5]))
    assert most.interval[1] == 1e6
    none = rate_of(np.zeros(4))
    assert (none.tips_per_million, none.interval, none.error) == (0.0, (0.0, 0.0), 0.0)
    assert math.isnan(none.cans_counting_would_need)
    assert Rate(50.0, (30.0, 90.0), 0.1).cans_counting_would_need == pytest.approx(2e6)


def test_a_line_tips_what_its_stages_and_places_tip() -> None:
    rng = np.random.default_rng(5)
    repeats = []
    for _ in range(4):
        tables = []
        for _ in range(2):
            bins, weight = shared_out(0.3 * np.exp(rng.uniform(0.0, 1.0, 12)), np.ones(12))
            where = (np.tile(np.arange(12), 2), bins)
            tables.append(csr_array((weight, where), shape=(12, SURE + 1)))
        repeats.append(tuple(tables))
    spectrum = Spectrum.of(("wash", "rinse"), np.full(4, 0.25), repeats)
    whole, stages = rates_of(spectrum, {"wash": 0.05, "rinse": 0.08})
    assert whole.tips_per_million == pytest.approx(sum(one.tips_per_million for one in stages))
    for one in stages:
        assert one.by_place.sum() == pytest.approx(one.tips_per_million)
        assert one.by_place.shape == (3,)
    assert [one.stage for one in stages] == ["wash", "rinse"]


def test_weights_are_shared_between_the_bins_beside_them() -> None:
    energy = np.array([FLOOR_MJ, GRID_MJ[5], 0.4 * GRID_MJ[7] + 0.6 * GRID_MJ[8], GRID_MJ[-1], 1e9])
    bins, weight = shared_out(energy, np.arange(1.0, 6.0))
    low, high = weight[:5], weight[5:]
    assert (bins[5:] == bins[:5] + 1).all()
    assert low + high == pytest.approx(np.arange(1.0, 6.0))
    met = (GRID_MJ[bins[:5]] * low + GRID_MJ[bins[5:]] * high) / (low + high)
    assert met == pytest.approx(np.minimum(energy, GRID_MJ[-1]))
    assert (weight >= -1e-12).all()
    assert bins.max() == GRID_MJ.size - 1


def test_a_slice_has_as_many_stretches_as_its_cans_or_its_length_take() -> None:
    plan = Plan(slice_mm=1000.0, cans=250)
    assert [plan.stretches(*one) for one in ((250, 9e9), (100, 9e9), (125, 9e9), (10**9, 300.0))
            ] == [1, 3, 2, 4]  # fmt: skip


@pytest.mark.parametrize("cans", [2_000_000, 100_000_000])
def test_the_room_of_a_rate_is_wider_by_its_own_error(cans: int) -> None:
    """Mean 40 of a million, 20 % known: ±1.96 of the root of both variances, few tips off."""
    rate = Rate(40.0, (40.0 * math.exp(-0.4), 40.0 * math.exp(1.96 * 0.2)), 0.2)
    mean = 40.0 * cans / 1e6
    half = 1.96 * math.sqrt(mean + (0.2 * mean) ** 2)
    low, high = (part * cans / 1e6 for part in room_of(rate, cans))
    assert (high - low) / 2.0 == pytest.approx(half, rel=0.05)
    assert (high + low) / 2.0 == pytest.approx(mean, rel=0.06)
    assert room_of(Rate(0.0, (0.0, 0.0), 0.0), cans) == (0.0, 0.0)
    assert all(map(math.isnan, room_of(Rate(math.nan, (0.0, 0.0), 0.0), cans)))


def test_no_counts_fit_no_factor() -> None:
    factor, interval = fitted_factor([], [])
    assert all(map(math.isnan, (factor, *interval)))


def test_where_no_can_fits_no_kick_makes_a_chance() -> None:
    """Neither 0 nor a warning: there is nothing to tip."""
    none = chance_of(small_line(small_stage(left=480.0, right=530.0)), "big")
    assert none.reason
    for found in (none, none.at({"wash": 0.7})):
        assert math.isnan(found.tips_per_million)
        assert all(map(math.isnan, found.tips_per_million_interval))
        assert np.isnan(found.stages[0].by_place).all()
        assert found.stages[0].by_place_interval.shape == (3, 2)
    assert none.at({"wash": 0.7}).kicks_mJ == {"wash": 0.7}
