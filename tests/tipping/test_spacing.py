"""Broken-stick gaps against published values, mpmath and sticks broken by a generator."""

from __future__ import annotations

import math
import time

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from packsim.errors import InputError
from tests.oracles.spacing import (
    compressibility,
    gap_exceeds,
    longest_exceeds,
    longest_gap_exceeds,
    longest_quantile,
    longest_within,
    mean_longest,
    mean_smallest,
)


def test_published_sticks(published):
    assert published["S01"].agrees(mean_longest(published["S01"].inputs["n"]))
    assert published["S02"].agrees(mean_longest(published["S02"].inputs["n"]))
    assert published["S03"].agrees(longest_within(3, 0.5))
    for row, function in (("S04", longest_exceeds), ("S07", gap_exceeds)):
        values = published[row].inputs
        assert published[row].agrees(function(values["n"], values["x"]))
    for row in ("S08", "S09", "S10"):
        values = published[row].inputs
        assert published[row].agrees(mean_smallest(values["n"], values["r"]))
    assert published["S11"].agrees(compressibility(published["S11"].inputs["eta"]))


@given(st.integers(1, 200), st.floats(0.0, 1.2))
def test_longest_against_nine_hundred_digits(gaps, share):
    with mpmath.workdps(900):
        x = mpmath.mpf(share)
        inside = mpmath.fsum(
            (-1) ** k * mpmath.binomial(gaps, k) * (1 - k * x) ** (gaps - 1)
            for k in range(gaps + 1)
            if k * x < 1
        )
        within, exceeds = float(inside), float(1 - inside)
    if share * gaps < 1.0:
        within, exceeds = 0.0, 1.0
    assert longest_within(gaps, share) == pytest.approx(within, rel=1e-14, abs=1e-300)
    assert longest_exceeds(gaps, share) == pytest.approx(exceeds, rel=1e-14, abs=1e-300)


def test_floats_alone_would_be_wrong_where_we_are_not():
    """The plain sum at n = 200, x = 0.012: nonsense in floats, a true probability here."""
    plain = math.fsum(
        (-1) ** (k - 1) * math.comb(200, k) * (1 - 0.012 * k) ** 199 for k in range(1, 84)
    )
    assert not 0.0 <= plain <= 1.0
    assert 0.0 < longest_within(200, 0.012) < 1e-6
    assert longest_exceeds(200, 0.012) == pytest.approx(1.0, abs=1e-6)


def test_broken_sticks():
    rng = np.random.default_rng(11)
    tries, n = 100_000, 21
    sticks = np.sort(rng.dirichlet(np.ones(n), tries), axis=1)
    for share in (0.1, 0.15, 0.25):
        chance = longest_exceeds(n, share)
        sigma = math.sqrt(chance * (1.0 - chance) / tries)
        assert abs((sticks[:, -1] > share).mean() - chance) < 4.5 * sigma
    means = [mean_smallest(n, rank) for rank in range(1, n + 1)]
    errors = sticks.std(axis=0) / math.sqrt(tries)
    assert np.all(abs(sticks.mean(axis=0) - means) < 4.5 * errors)


@given(st.integers(1, 60), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_longest_falls_with_the_share_and_bounds_one_gap(gaps, a, b):
    low, high = sorted((a, b))
    assert longest_exceeds(gaps, low) >= longest_exceeds(gaps, high)
    one = gap_exceeds(gaps, a)
    assert one * (1 - 1e-12) <= longest_exceeds(gaps, a) <= gaps * one * (1 + 1e-12)
    assert longest_within(gaps, a) + longest_exceeds(gaps, a) == pytest.approx(1.0)


@given(st.integers(2, 60), st.floats(1e-6, 1.0 - 1e-6))
def test_quantile_undoes_the_chance(gaps, chance):
    share = longest_quantile(gaps, chance)
    assert 1.0 / gaps <= share <= 1.0
    assert longest_exceeds(gaps, share) == pytest.approx(chance, rel=1e-6, abs=1e-9)


@given(st.integers(1, 200))
def test_means_add_up_to_the_whole(gaps):
    assert math.fsum(mean_smallest(gaps, r) for r in range(1, gaps + 1)) == pytest.approx(1.0)


def test_mean_of_the_longest_is_the_area_under_its_tail():
    share = np.linspace(0.0, 1.0, 4001)
    tail = np.array([longest_exceeds(12, float(x)) for x in share])
    assert trapezoid(tail, share) == pytest.approx(mean_longest(12), abs=1e-7)


def test_millimetres():
    assert longest_gap_exceeds(10, 3.0, 10.0) == longest_exceeds(10, 0.3)
    assert longest_gap_exceeds(10, 3.0, 0.0) == 0.0
    assert longest_gap_exceeds(10, 12.0, 10.0) == 0.0
    assert longest_gap_exceeds(10, -1.0, 10.0) == 1.0


def test_tonks_halving_the_slack_doubles_the_push():
    assert compressibility(0.98) == pytest.approx(2.0 * compressibility(0.96))
    assert compressibility(0.0) == 1.0


def test_two_hundred_gaps_are_quick():
    start = time.process_time()
    for share in (0.0051, 0.02, 0.03):
        longest_exceeds(200, share)
    assert time.process_time() - start < 5.0


def test_bad_values_are_refused():
    for bad in (0, -3, 2.0, True, 2001):
        with pytest.raises(InputError, match="gaps"):
            longest_exceeds(bad, 0.5)
    with pytest.raises(InputError, match="rank"):
        mean_smallest(3, 4)
    with pytest.raises(InputError, match="below 1"):
        compressibility(1.0)
    with pytest.raises(InputError, match="share"):
        longest_exceeds(3, math.nan)
