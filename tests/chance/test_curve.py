"""The curve of a chance against the kick energy, through chances known in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.chance import history
from packsim.chance.curve import Curve, curve_through
from packsim.chance.history import _crossing
from packsim.chance.rate import Rate, log_interval
from packsim.line import PastCount

BARRIER_MJ = 0.3
ENERGY = np.log(np.geomspace(0.03, 0.6, 80))
SHARES = np.array([0.5, 0.2, 0.3])


@pytest.fixture(scope="module")
def curve() -> Curve:
    """Four repeats, some with more tips, of a barrier: the chance is that of Arrhenius."""
    chance = np.exp(-BARRIER_MJ / np.exp(ENERGY))
    more = np.array([0.8, 1.0, 1.1, 1.1])
    return curve_through(ENERGY, more[:, None, None] * SHARES[:, None] * chance, "wash")


def test_it_meets_its_table_and_goes_on_below_as_a_barrier_does(curve: Curve) -> None:
    assert curve.log_chance(ENERGY) == pytest.approx(-BARRIER_MJ / np.exp(ENERGY), rel=1e-9)
    below = ENERGY[0] - np.array([0.1, 0.5, 1.0])
    assert curve.log_chance(below) == pytest.approx(-BARRIER_MJ / np.exp(below), rel=1e-3)
    assert curve.log_chance(ENERGY[-1] + 3.0) == pytest.approx(curve.log_chance(ENERGY[-1]))
    assert (curve.never, curve.says_nothing, curve.stage) == (False, False, "wash")


def test_the_upper_end_of_its_interval_is_1_96_errors_off(curve: Curve) -> None:
    tips = np.exp(curve.log_chance(ENERGY)) * np.array([0.8, 1.0, 1.1, 1.1])[:, None]
    _, _, _, up = log_interval(tips)
    assert up == pytest.approx(1.96 * curve.error)
    assert curve.error.min() > 0.01
    assert curve.error_at(ENERGY[[3, 40]]) == pytest.approx(curve.error[[3, 40]])
    between = (ENERGY[3] + ENERGY[4]) / 2.0
    assert curve.error_at(between) == pytest.approx(curve.error[3:5].mean())


def test_places_have_their_shares(curve: Curve) -> None:
    share, error = curve.places_at(float(ENERGY[10]) + 1e-6)
    assert share == pytest.approx(SHARES)
    assert error == pytest.approx(curve.share_error[10])
    assert curve.share_error[10] == pytest.approx(np.full(3, curve.error[10]))


def test_where_nothing_tips_the_curve_says_so() -> None:
    never = curve_through(ENERGY, np.zeros((4, 3, 80)))
    assert (never.never, never.says_nothing) == (True, True)
    assert never.log_chance([0.0, 1.0]).tolist() == [-math.inf] * 2
    assert never.error_at([0.0, 1.0]).tolist() == [0.0] * 2
    assert [part.tolist() for part in never.places_at(0.0)] == [[0.0] * 3] * 2
    level = curve_through(ENERGY, np.full((4, 3, 80), 0.1))
    assert (level.never, level.says_nothing) == (False, True)


@given(
    at=st.floats(-3.0, 3.0),
    slope=st.sampled_from([-2.0, -0.3, 0.4, 1.7]),
    level=st.floats(-9.0, 9.0),
    others=st.lists(st.floats(-4.0, 4.0), min_size=2, max_size=6, unique=True),
)
def test_a_rate_is_met_where_its_logarithm_is_straight(
    at: float, slope: float, level: float, others: list[float]
) -> None:
    points = [(x, math.exp(level + slope * (x - at))) for x in others]
    found = _crossing([*points, (9.0, math.inf), (-9.0, math.nan)], math.exp(level))
    if min(others) + 1e-9 < at < max(others) - 1e-9:
        assert found == pytest.approx(at, abs=1e-6)
    elif not min(others) - 1e-9 <= at <= max(others) + 1e-9:
        assert found is None


def test_of_two_places_the_smaller_change_counts() -> None:
    assert _crossing([(-2.0, 1.0), (-1.0, 100.0), (0.0, 1.0), (4.0, 100.0)], 10.0) == -0.5
    assert _crossing([(-8.0, 100.0), (0.0, 1.0), (4.0, 100.0)], 10.0) == 2.0
    # none at all is taken for one in a billion of a million
    assert _crossing([(0.0, 1.0), (6.0, 0.0)], 0.0) == pytest.approx(6.0)
    assert _crossing([(0.0, 5.0), (6.0, 5.0)], 5.0) is None


@pytest.mark.parametrize(
    ("expected", "tipped", "told"), [(0.5, 3, True), (0.0, 3, False), (0.5, 0, False)]
)
def test_a_kick_rate_explains_a_count_where_both_are_above_none(  # type: ignore[no-untyped-def]
    small, curve: Curve, monkeypatch, expected: float, tipped: int, told: bool
) -> None:
    """Rates by the ends of both intervals: 1 to 12 counted against 0.2 to 1 expected."""
    monkeypatch.setattr(history, "_met", lambda *_: None)
    monkeypatch.setattr(history, "_explains", lambda *_: False)
    monkeypatch.setattr(history, "part_of", lambda *_: None)
    past = PastCount("can", 1_000_000, tipped)
    one = history.Compared(past, (1.0, 12.0), Rate(expected, (0.2, 1.0), 0.3), (0.1, 2.0))
    found = history._causes(one, curve, small.line(small.stage()), lambda *_: None)  # type: ignore[arg-type]
    rates = {cause.what: cause for cause in found if cause.what == "kick rate"}
    assert bool(rates) == told
    if told:
        cause = rates["kick rate"]
        assert (cause.value, cause.interval) == (pytest.approx(6.0), pytest.approx((1.0, 60.0)))
