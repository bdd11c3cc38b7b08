"""Exact intervals of counts against published values."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from packsim.counts.intervals import poisson_interval, zero_count_limit
from packsim.errors import InputError


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


@pytest.mark.parametrize("count", [1, 7, 250])
def test_garwood_ends_leave_the_tails_they_should(count: int) -> None:
    low, high = poisson_interval(count)
    assert stats.poisson.sf(count - 1, low) == pytest.approx(0.025, rel=1e-9)
    assert stats.poisson.cdf(count, high) == pytest.approx(0.025, rel=1e-9)


def test_absurd_counts_are_refused() -> None:
    for bad in (-1, 2.5, True):
        with pytest.raises(InputError, match="count"):
            poisson_interval(bad)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="confidence"):
        poisson_interval(3, math.nan)
