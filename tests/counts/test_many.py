from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from packsim.counts.intervals import poisson_interval
from packsim.counts.many import run_many
from packsim.counts.passages import Passages
from packsim.errors import InputError
from packsim.line import Kicks
from packsim.passage.track import build_track

ROUGH = Kicks(0.6, 2.0, 0.3, 4.0)


def many(scenario, can, **more) -> Passages:
    return run_many(build_track(scenario, can), can.name, **more)


@pytest.fixture(scope="module")
def wide(line):
    return line(4, (46.0,), length=1500.0, kicks=ROUGH, state="slack")


@pytest.fixture(scope="module")
def passages(wide, can) -> Passages:
    return many(wide, can, cans=60, repeats=3, seed=5)


def test_published_poisson_limits(published) -> None:
    assert published["T01"].agrees(poisson_interval(0)[1])
    assert poisson_interval(0)[0] == 0.0


@given(count=st.integers(0, 500), confidence=st.floats(0.5, 0.999))
def test_the_interval_is_garwoods(count: int, confidence: float) -> None:
    tail = (1 - confidence) / 2
    low, high = poisson_interval(count, confidence)
    # scipy.stats as judge: the limits are where the tails hold just this chance
    assert stats.poisson.cdf(count, high) == pytest.approx(tail, rel=1e-6)
    if count:
        assert stats.poisson.sf(count - 1, low) == pytest.approx(tail, rel=1e-6)


def test_the_runs_add_up(passages) -> None:
    assert passages.counted == 180
    assert [run.number for run in passages.runs] == [0, 1, 2]
    assert passages.tips.sum() == sum(run.tips.sum() for run in passages.runs) > 0
    rate = passages.tips_per_million
    low, high = passages.tips_per_million_interval
    assert rate == pytest.approx(1e6 * passages.tips.sum() / 180)
    assert low < rate < high
    assert passages.across.shape == (1, 40)
    assert passages.max_overlap_mm <= 0.02
    assert not np.array_equal(passages.runs[0].kicks, passages.runs[1].kicks)


@pytest.mark.slow
def test_the_number_of_workers_changes_nothing(wide, can, passages) -> None:
    seen: list[tuple[int, int]] = []
    shared = many(
        wide, can, cans=60, repeats=3, seed=5, workers=2,
        progress=lambda done, of: seen.append((done, of)),
    )  # fmt: skip
    assert seen == [(1, 3), (2, 3), (3, 3)]
    for a, b in zip(passages.runs, shared.runs, strict=True):
        assert a.number == b.number
        assert np.array_equal(a.tips, b.tips)
        assert np.array_equal(a.kicks, b.kicks)
        assert np.array_equal(a.across, b.across)
        assert np.array_equal(a.profile.slack_mm, b.profile.slack_mm, equal_nan=True)


def test_more_repeats_begin_with_the_same_runs(wide, can, passages) -> None:
    one = many(wide, can, cans=60, repeats=1, seed=5)
    assert np.array_equal(one.runs[0].kicks, passages.runs[0].kicks)


def test_an_interrupt_keeps_what_is_done(wide, can) -> None:
    def stop(done: int, of: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    cut = many(wide, can, cans=20, repeats=4, seed=5, progress=stop)
    assert cut.interrupted
    assert len(cut.runs) == 2
    assert cut.asked == 4
    assert cut.counted == 40


def test_progress_grows_within_a_run_when_there_is_one_worker(wide, can) -> None:
    seen: list[float] = []
    many(wide, can, cans=60, repeats=2, seed=5, progress=lambda done, of: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 2.0
    assert 1.0 in seen
    assert len([done for done in seen if 0.2 < done < 0.9]) >= 5  # no long silence within the first
    assert max(b - a for a, b in itertools.pairwise(seen)) < 0.35


def test_a_slice_counts_its_cans(wide, can) -> None:
    found = many(wide, can, slice_mm=600.0, repeats=2, seed=5)
    assert found.counted == sum(run.counted for run in found.runs) > 0
    assert found.profile is not None
    with pytest.raises(InputError):
        many(wide, can, cans=10, slice_mm=600.0, repeats=1, seed=5)


def test_nothing_done_is_not_a_rate(wide, can) -> None:
    none = Passages("x", 0, ("a",), (), 3, True)
    assert math.isnan(none.tips_per_million)
    assert all(math.isnan(end) for end in none.tips_per_million_interval)


@pytest.mark.parametrize("bad", [{"cans": 0}, {"repeats": 0}, {"workers": 0}, {"cans": 1.5}])
def test_bad_numbers_are_named(wide, can, bad) -> None:
    with pytest.raises(InputError):
        many(wide, can, **({"cans": 10, "repeats": 1, "seed": 1} | bad))
