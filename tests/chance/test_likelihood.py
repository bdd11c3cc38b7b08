"""One unknown fitted to counts: against the closed form of a Poisson count."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import poisson

from packsim.chance.curve import curve_through
from packsim.chance.likelihood import CountTable, Observation, deviance, estimate, table_of
from packsim.errors import InputError

BARRIER_MJ, CANS = 0.3, 1_000_000
ENERGY = np.log(np.geomspace(0.02, 0.2, 60))
CHANCE = np.exp(-BARRIER_MJ / np.exp(ENERGY))


@pytest.fixture(scope="module")
def table() -> CountTable:
    """Repeats that agree, so that only the count is uncertain."""
    curve = curve_through(ENERGY, np.broadcast_to(CHANCE / 3.0, (4, 3, 60)))
    return table_of([Observation(0, CANS, 0, (curve,), (0.0,))])


def energy_mJ(count: float) -> float:
    return BARRIER_MJ / math.log(CANS / count)


@pytest.mark.parametrize("count", [3, 50, 4000])
@pytest.mark.parametrize(("confidence", "spent"), [(0.95, 3.8415), (0.9, 2.7055), (0.68, 0.9889)])
def test_a_count_is_fitted_with_its_profile_interval(
    table: CountTable, count: int, confidence: float, spent: float
) -> None:
    """2 [c ln(c/μ) − c + μ] spends the quantile of χ² (of the usual tables) at both ends."""
    found = estimate(table, [count], confidence)

    def over(mean: float) -> float:
        return 2.0 * (count * math.log(count / mean) - count + mean) - spent

    low, high = brentq(over, 1e-3 * count, count), brentq(over, count, 30.0 * count)
    assert found.best == pytest.approx(energy_mJ(count), rel=1e-4)
    assert (found.low, found.high) == pytest.approx((energy_mJ(low), energy_mJ(high)), rel=1e-4)
    assert (found.status, found.upper_limit) == ("fitted", math.inf)
    wider = estimate(table, [count], confidence, widening=3.0)
    assert wider.low < found.low < found.high < wider.high


def test_no_tip_is_a_limit_from_above(table: CountTable) -> None:
    found = estimate(table, [0], 0.95)
    limit = energy_mJ(-math.log(0.05))
    assert (found.best, found.low, found.status) == (0.0, 0.0, "upper limit")
    assert (found.high, found.upper_limit) == pytest.approx((limit, limit), rel=1e-3)


def test_more_tips_than_any_kick_gives_are_beyond_the_model(table: CountTable) -> None:
    most = int(CANS * CHANCE[-1])
    assert estimate(table, [most // 2]).status == "fitted"
    found = estimate(table, [2 * most])
    assert (found.status, found.best, found.high) == ("beyond the model", math.inf, math.inf)


@pytest.mark.parametrize("confidence", [0.4, 0.9999999, 1.0])
def test_no_interval_for_nothing_or_for_everything(table: CountTable, confidence: float) -> None:
    with pytest.raises(InputError, match="confidence"):
        estimate(table, [3], confidence)


@pytest.mark.parametrize("count", [0, 1, 2, 7])
def test_deviance_against_the_poisson_of_scipy(count: int) -> None:
    mean = np.array([0.2, 1.0, 2.5, 30.0])
    exact = 2.0 * (poisson.logpmf(count, max(count, 1e-300)) - poisson.logpmf(count, mean))
    found = [float(deviance([count], [one])) for one in mean]
    assert found == pytest.approx(exact, rel=1e-6, abs=1e-6)
