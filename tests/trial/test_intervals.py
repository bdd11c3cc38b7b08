"""Exact intervals of counts against published values."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from packsim.errors import InputError
from packsim.passage.counting import poisson_interval
from packsim.trial.intervals import clopper_pearson, zero_count_limit


def test_garwood_agrees_with_published_limits(published) -> None:
    assert published["T01"].agrees(poisson_interval(0)[1])
    assert published["T03"].agrees(poisson_interval(10)[0])
    assert published["T04"].agrees(poisson_interval(10)[1])
    for low, high, confidence in (("T05", "T06", 0.90), ("T09", "T10", 0.99)):
        found = poisson_interval(25, confidence)
        assert published[low].agrees(found[0])
        assert published[high].agrees(found[1])


def test_the_limit_of_no_events_agrees_with_published_values(published) -> None:
    assert published["T02"].agrees(zero_count_limit(0.95))


def test_clopper_pearson_agrees_with_published_limits(published) -> None:
    assert published["T11"].agrees(clopper_pearson(7, 50)[0])
    assert published["T15"].agrees(clopper_pearson(0, 100)[1])
    assert published["T13"].agrees(clopper_pearson(0, 100, 0.90)[1])  # one-sided 95 %
    assert abs(clopper_pearson(0, 100, 0.90)[1] / published["T14"].value - 1.0) < 0.02


@pytest.mark.parametrize(("count", "of"), [(0, 5), (1, 5), (5, 5), (123, 45_000)])
def test_clopper_pearson_agrees_with_scipy(count: int, of: int) -> None:
    found = stats.binomtest(count, of).proportion_ci(0.95, method="exact")
    assert clopper_pearson(count, of) == pytest.approx((found.low, found.high), rel=1e-9)


@pytest.mark.parametrize("count", [1, 7, 250])
def test_garwood_ends_leave_the_tails_they_should(count: int) -> None:
    low, high = poisson_interval(count)
    assert stats.poisson.sf(count - 1, low) == pytest.approx(0.025, rel=1e-9)
    assert stats.poisson.cdf(count, high) == pytest.approx(0.025, rel=1e-9)


def test_absurd_counts_are_refused() -> None:
    for bad in (-1, 2.5, True):
        with pytest.raises(InputError, match="count"):
            poisson_interval(bad)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="of"):
        clopper_pearson(7, 6)
    with pytest.raises(InputError, match="confidence"):
        poisson_interval(3, math.nan)
