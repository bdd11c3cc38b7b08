"""What the line is known to have done against the model: explained, or what would explain it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from packsim.chance import chance_of
from packsim.chance.curve import curve_through
from packsim.chance.history import History, compare_history
from packsim.chance.past_part import FACTORS, fitted_factor, part_of, room_of
from packsim.chance.rate import Rate
from packsim.chance.sample import Plan
from packsim.line import Kicks, Mat, PastCount, Scenario
from tests.passage.conftest import CAN, make_stage


@pytest.fixture(scope="module", autouse=True)
def passages_kept(tmp_path_factory: pytest.TempPathFactory):
    """The same passage is asked for by several tests: kept in a folder of theirs.

    All cans of these lines are alike, so a few stand for all.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("packsim.chance.line_chance.Plan", partial(Plan, cans=16))
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("passages")))
        yield


SLACK, KICK, CANS = 40.0, 0.07, 2_000_000
"""A can meets the guide just before it is over: what is free to it grows fast with the gap."""


def lined(slack: float = SLACK, kick: float = KICK, enters: float = 0.0, **more: Any) -> Scenario:
    """Two stages of cans one behind the other that nothing moves, as in `test_closed_form`.

    Every repeat is the same but for the directions asked, so the chance is known within a percent
    or two and is smooth in the width: what a count says is not lost in the scatter of repeats.
    """
    stages = tuple(
        make_stage(
            name,
            length=length,
            width=CAN.diameter_mm + slack,
            kicks=Kicks(kick, 2.0, 0.0),
            **({"fill": 0.3, "state": "slack"} | more),
        )
        for name, length in (("wash", 1200.0), ("rinse", 600.0))
    )
    mat = Mat(1600.0, 90.0, pack_enters=enters)
    return Scenario("past", "", mat, stages, (CAN,), CAN.name)


def counted(made_by: Scenario, cans: int = CANS, **part: str) -> PastCount:
    """Count what the model expects of a line, or of a part of it."""
    blank = PastCount(CAN.name, cans, 0, "then", **part)
    rate = part_of(chance_of(made_by, CAN.name), blank).tips_per_million
    return replace(blank, tipped=round(rate * cans / 1e6))


def held(history: PastCount, line: Scenario) -> History:
    return compare_history(replace(line, history=(history,)))


def cause(found: History, what: str):
    return [one for one in found.counts[0].causes if one.what == what]


@pytest.mark.parametrize("part", [{}, {"stage": "wash"}, {"stage": "wash", "place": "left edge"}])
def test_what_the_model_expects_is_explained_and_fits_as_it_is(part) -> None:
    found = held(counted(lined(), **part), lined())
    assert found.explained
    assert found.counts[0].causes == ()
    assert found.factor == pytest.approx(1.0, abs=0.02)
    assert found.factor_interval[0] < 1.0 < found.factor_interval[1]


def test_rougher_kicks_are_found_and_forecasts_then_give_the_count_back() -> None:
    past = counted(lined(kick=1.4 * KICK))
    found = held(past, lined())
    assert not found.explained
    (energy,) = cause(found, "kick energy")
    assert energy.value == pytest.approx(1.4, rel=0.01)
    assert energy.interval[0] < 1.4 < energy.interval[1]
    (rate,) = cause(found, "kick rate")
    assert rate.value == pytest.approx(
        past.tips_per_million / found.counts[0].expected.tips_per_million
    )
    assert found.factor == pytest.approx(1.4, rel=0.01)
    told = found.foretold(chance_of(lined(), CAN.name))
    assert told.tips_per_million == pytest.approx(past.tips_per_million, rel=0.02)
    assert told.interval[0] < past.tips_per_million < told.interval[1]


def test_a_width_noted_wrong_and_a_side_of_entry_are_found() -> None:
    found = held(counted(lined(SLACK - 1.5)), lined())
    (width,) = cause(found, "clear width")
    assert width.value == pytest.approx(-1.5, abs=0.5)
    other = held(counted(lined()), lined(enters=0.5))
    assert "left" in [one.value for one in cause(other, "pack enters")]


def test_the_widths_of_then_are_those_the_count_is_held_against() -> None:
    then = CAN.diameter_mm + SLACK - 6.0
    past = replace(counted(lined(SLACK - 6.0), cans=4 * CANS), clear_width_mm=then)
    assert held(past, lined()).explained
    apart = replace(past, clear_width_mm=None, widths_mm=(("wash", then),))
    assert not held(apart, lined()).explained


def test_nothing_tipped_limits_the_kicks_from_above_only() -> None:
    found = held(PastCount(CAN.name, CANS, 0), lined())
    assert not found.explained
    assert found.factor == found.factor_interval[1] < 1.0
    assert found.factor_interval[0] == pytest.approx(FACTORS[0])


def test_nobody_can_count_what_the_model_never_expects() -> None:
    found = held(PastCount(CAN.name, 1000, 400), lined(slack=2.0, fill=1.0))
    assert not found.explained
    assert np.isnan(found.factor)
    assert cause(found, "kick energy") == []


def test_no_number_of_kicks_is_told_that_nobody_could_have_missed() -> None:
    found = held(PastCount(CAN.name, CANS, 1000), lined(kick=0.1 * KICK))
    assert 0.0 < found.counts[0].expected.tips_per_million < 0.1
    assert cause(found, "kick rate") == []


def test_the_room_for_a_count_holds_as_many_as_it_says() -> None:
    rng = np.random.default_rng(5)
    rate = Rate(300.0, (300.0 / 1.3, 300.0 * 1.3), 0.13)
    low, high = room_of(rate, 20_000)
    spread = np.log(1.3) / 1.96
    mean = 6.0 * rng.gamma(1 / spread**2, spread**2, 40_000)
    inside = np.mean((rng.poisson(mean) >= low * 0.02) & (rng.poisson(mean) <= high * 0.02))
    assert 0.92 < inside < 0.99


def test_the_factor_is_exact_where_the_chance_is_an_exponential() -> None:
    barrier, cans = 1.5, 2_000_000
    tips = np.zeros((2, 3, FACTORS.size))
    tips[:, 0] = np.exp(-barrier / (0.2 * FACTORS))
    past = PastCount("any", cans, round(cans * np.exp(-barrier / (0.2 * 1.7))))
    factor, (low, high) = fitted_factor([past], [curve_through(np.log(FACTORS), tips)])
    assert factor == pytest.approx(1.7, rel=0.01)
    error = 1.7 / np.sqrt(past.tipped) * 0.2 * 1.7 / barrier  # of ln N = −barrier/(0.2 f)
    assert (high - low) / 2.0 == pytest.approx(1.96 * error, rel=0.15)


@pytest.mark.parametrize("per_million", [0.0, 0.3, 40.0])
def test_a_forecast_is_as_doubtful_as_passages_and_factor_together(per_million: float) -> None:
    """Independent errors of a logarithm add as squares, however rare tips are."""

    def at(kicks: dict[str, float]) -> SimpleNamespace:
        rate = per_million * kicks["wash"]
        return SimpleNamespace(line=Rate(rate, (rate / 1.2, rate * 1.2), 0.1))

    known: Any = SimpleNamespace(kicks_mJ={"wash": 1.0}, at=at)
    told = History((), 1.0, (0.8, 1.3)).foretold(known)
    low, high = (np.exp(np.hypot(np.log(1.2), np.log(by))) for by in (1.0 / 0.8, 1.3))
    assert told.interval == pytest.approx((per_million / low, per_million * high))


def test_each_passage_for_a_history_is_told_as_it_is_done() -> None:
    told: list[tuple[int, int]] = []
    line = replace(lined(), history=(counted(lined()),) * 2)
    compare_history(line, lambda done, most: told.append((done, most)))
    most = told[-1][1]
    assert told == [(1, most), (2, most), (most, most)]
    assert most > 2
