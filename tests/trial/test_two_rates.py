"""Telling two rates apart: the exact test, its power, the cans it takes."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from packsim.errors import InputError
from packsim.trial.two_rates import cans_to_tell_apart, power_of_two_counts
from tests.oracles.two_counts import two_count_p


@pytest.mark.parametrize(("first", "second"), [(0, 3), (3, 11), (20, 20), (41, 15)])
def test_p_is_the_doubled_binomial_tail(first: int, second: int) -> None:
    one = stats.binomtest(min(first, second), first + second, alternative="less").pvalue
    assert two_count_p(first, second) == pytest.approx(min(1.0, 2.0 * one))


def test_p_with_different_numbers_of_cans() -> None:
    # breast cancer after fluoroscopy, 41 in 28 010 against 15 in 19 017 person-years (J. D. Boice
    # and R. R. Monson, 1977): significant by the exact test, counts from memory
    share = 28_010 / (28_010 + 19_017)
    upper = stats.binomtest(41, 56, share, alternative="greater").pvalue
    assert two_count_p(41, 15, 28_010, 19_017) == pytest.approx(2.0 * upper)
    assert two_count_p(41, 15, 28_010, 19_017) < 0.05


p_of = cache(two_count_p)


@pytest.mark.parametrize(
    ("mu1", "mu2", "alpha"),
    [pytest.param(3.0, 12.0, 0.05, marks=pytest.mark.all), (10.0, 30.0, 0.05), (5, 9, 0.1)],
)
def test_power_is_the_sum_over_every_pair_of_counts(mu1: float, mu2: float, alpha: float) -> None:
    total = 0.0
    for x in range(60):
        for y in range(90):
            if p_of(x, y) <= alpha:
                total += stats.poisson.pmf(x, mu1) * stats.poisson.pmf(y, mu2)
    assert power_of_two_counts(mu1, mu2, alpha) == pytest.approx(total, abs=1e-6)


@given(mean=st.floats(0.1, 200.0), alpha=st.sampled_from([0.01, 0.05, 0.1]))
def test_false_alarms_never_exceed_what_was_asked(mean: float, alpha: float) -> None:
    assert power_of_two_counts(mean, mean, alpha) <= alpha + 1e-12


def test_the_textbook_rule_for_two_poisson_means() -> None:
    # G. van Belle, Statistical Rules of Thumb: means of 30 and 36 per unit need
    # 4/(√30 − √36)² = 14.6 units at 5 % and 80 % (from memory). The exact test needs a little more.
    rule = 4.0 / (math.sqrt(30.0) - math.sqrt(36.0)) ** 2
    assert rule == pytest.approx(14.6, abs=0.1)
    units = cans_to_tell_apart(30e6, 36e6, power=0.8, alpha=0.05)
    assert rule <= units <= 1.06 * rule


def test_the_cans_found_have_the_power_asked_for_and_no_fewer_have() -> None:
    cans = cans_to_tell_apart(10.0, 40.0, power=0.9)
    assert power_of_two_counts(cans * 10e-6, cans * 40e-6) >= 0.9
    assert power_of_two_counts(0.97 * cans * 10e-6, 0.97 * cans * 40e-6) < 0.9


def test_simulated_trials_find_the_difference_as_often_as_said() -> None:
    cans, rng = cans_to_tell_apart(20.0, 60.0, power=0.9), np.random.default_rng(3)
    first, second = rng.poisson(cans * 20e-6, 4000), rng.poisson(cans * 60e-6, 4000)
    found = np.mean(
        [two_count_p(int(a), int(b)) <= 0.05 for a, b in zip(first, second, strict=True)]
    )
    assert found == pytest.approx(0.9, abs=0.02)


def test_many_tips_use_the_formula_and_equal_rates_cannot_be_told_apart() -> None:
    assert cans_to_tell_apart(5.0, 5.0) == math.inf
    near = cans_to_tell_apart(1000.0, 1010.0)
    z = stats.norm.ppf(0.975) + stats.norm.ppf(0.9)
    assert near == pytest.approx(z**2 / (2 * (math.sqrt(1e-3) - math.sqrt(1.01e-3)) ** 2))
    with pytest.raises(InputError, match="power"):
        cans_to_tell_apart(1.0, 2.0, power=1.0)
    with pytest.raises(InputError, match="first"):
        two_count_p(-1, 3)
