"""Christiansen's coefficient, by its published definition worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.spray.uniformity import christiansen, uniformity

doses = st.lists(st.floats(0.1, 50.0), min_size=1, max_size=20)


def test_worked_by_hand() -> None:
    """CU = 100 (1 − Σ|x − m|/(n m)), [christiansen1942]_.

    Catches 12, 9, 10, 11, 8: mean 10, deviations 2 + 1 + 0 + 1 + 2 = 6, CU = 100(1 − 6/50) = 88.
    """
    assert christiansen([12.0, 9.0, 10.0, 11.0, 8.0]) == pytest.approx(0.88)


def test_all_in_one_place_is_far_below_nothing() -> None:
    """n places, one with all: deviations (n−1)m + (n−1)m, CU = 1 − 2(n − 1)/n by hand."""
    assert christiansen([5.0, 0.0, 0.0, 0.0]) == pytest.approx(-0.5)


def test_weights_stand_for_repeated_values() -> None:
    assert christiansen([8.0, 12.0], [3.0, 1.0]) == pytest.approx(christiansen([8, 8, 8, 12]))


@given(doses, st.floats(0.1, 100.0))
def test_unit_and_order_do_not_matter(values: list[float], factor: float) -> None:
    here = christiansen(values)
    assert christiansen([factor * v for v in values]) == pytest.approx(here, abs=1e-9)
    assert christiansen(values[::-1]) == pytest.approx(here, abs=1e-9)
    assert here <= 1.0 + 1e-12


def test_normal_doses_have_the_known_ratio_to_their_spread() -> None:
    """For a normal spread CU = 1 − √(2/π) × coefficient of variation (mean absolute deviation)."""
    rng = np.random.default_rng(11)
    values = rng.normal(10.0, 1.0, 200_000)
    assert christiansen(values) == pytest.approx(1 - math.sqrt(2 / math.pi) * 0.1, abs=5e-4)


def test_lanes_beyond_the_thresholds_are_named() -> None:
    found = uniformity([7.0, 10.0, 10.0, 13.0], low_share=0.8, high_share=1.25)
    assert (found.under, found.over) == ((0,), (3,))
    assert (found.mean, found.least_share, found.most_share) == pytest.approx((10.0, 0.7, 1.3))
    assert found.coefficient == pytest.approx(0.85)
    assert uniformity([7.0, 10.0, 10.0, 13.0], low_share=0.5, high_share=2.0).under == ()


def test_no_spray_at_all_leaves_every_lane_under() -> None:
    found = uniformity([0.0, 0.0])
    assert found.under == (0, 1)
    assert math.isnan(found.coefficient)
    assert math.isnan(christiansen([0.0]))


@pytest.mark.parametrize("bad", [[], [-1.0], [math.nan], [[1.0]]])
def test_bad_doses_are_refused(bad: list[float]) -> None:
    with pytest.raises(InputError):
        uniformity(bad)


def test_bad_weights_and_thresholds_are_refused() -> None:
    for weights in ([1.0], [0.0, 0.0], [-1.0, 2.0]):
        with pytest.raises(InputError):
            christiansen([1.0, 2.0], weights)
    with pytest.raises(InputError):
        uniformity([1.0, 2.0], low_share=1.0, high_share=0.9)
