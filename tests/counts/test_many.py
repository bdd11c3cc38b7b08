from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from packsim.counts.intervals import poisson_interval
from packsim.counts.many import Line, run_many
from packsim.counts.passages import Passages
from packsim.errors import InputError
from packsim.line import Kicks
from packsim.passage.track import build_track, loaded_track
from packsim.scenario import load_scenario

ROUGH = Kicks(0.6, 2.0, 0.3, 4.0)


def many(scenario, can, seed=5, **more) -> Passages:
    (found,) = run_many([Line(can.name, seed, build_track(scenario, can))], **more)
    return found


@pytest.fixture(scope="module")
def wide(line):
    return line(4, (46.0,), length=1500.0, kicks=ROUGH, state="slack")


@pytest.fixture(scope="module")
def passages(wide, can) -> Passages:
    return many(wide, can, cans=60, repeats=3)


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
    # 60 cans are four lanes of 15, 15 × 66 mm long and more: no need to make the slice longer
    assert passages.counted == 180
    assert [run.number for run in passages.runs] == [0, 1, 2]
    assert passages.tips.sum() == sum(run.tips.sum() for run in passages.runs) > 0
    rate = passages.tips_per_million
    low, high = passages.tips_per_million_interval
    assert rate == pytest.approx(1e6 * passages.tips.sum() / passages.counted)
    assert low < rate < high
    assert passages.across.shape == (1, 40)
    assert passages.max_overlap_mm <= 0.02
    assert not np.array_equal(passages.runs[0].kicks, passages.runs[1].kicks)


@pytest.mark.slow
def test_the_number_of_workers_changes_nothing(wide, can, passages) -> None:
    seen: list[tuple[int, int]] = []
    shared = many(
        wide, can, cans=60, repeats=3, workers=2,
        progress=lambda done, of: seen.append((done, of)),
    )  # fmt: skip
    each = passages.runs[0].counted
    assert seen == [(each, 3 * each), (2 * each, 3 * each), (3 * each, 3 * each)]
    assert_alike(passages, shared)


def assert_alike(passages: Passages, shared: Passages) -> None:
    for a, b in zip(passages.runs, shared.runs, strict=True):
        assert a.number == b.number
        assert np.array_equal(a.tips, b.tips)
        assert np.array_equal(a.kicks, b.kicks)
        assert np.array_equal(a.across, b.across)
        assert np.array_equal(a.profile.slack_mm, b.profile.slack_mm, equal_nan=True)


def test_more_repeats_begin_with_the_same_runs(wide, can, passages) -> None:
    one = many(wide, can, cans=60, repeats=1)
    assert np.array_equal(one.runs[0].kicks, passages.runs[0].kicks)


def test_an_interrupt_keeps_what_is_done(wide, can) -> None:
    def stop(done: int, of: int) -> None:
        if done == 40:
            raise KeyboardInterrupt

    cut = many(wide, can, cans=20, repeats=4, whole_line=True, progress=stop)
    assert cut.interrupted
    assert len(cut.runs) == 2
    assert cut.asked == 4
    assert cut.counted == 40


def test_many_cans_go_in_several_slices_and_each_is_a_run(wide, can, monkeypatch) -> None:
    monkeypatch.setattr("packsim.counts.many.SLICE_CANS", 100)
    found = many(wide, can, cans=250, repeats=2)
    assert found.asked == len(found.runs) == 2 * 3
    assert found.counted == sum(run.counted for run in found.runs) >= 500
    assert found.profile is not None
    assert len({run.kicks.tobytes() for run in found.runs}) == 6


def test_several_lines_are_counted_as_each_by_itself(wide, can, passages) -> None:
    track = build_track(wide, can)
    first, second = run_many([Line("a", 5, track), Line("b", 6, track)], cans=60, repeats=3)
    assert_alike(passages, first)
    assert not np.array_equal(first.kicks, second.kicks)


@pytest.mark.slow
def test_slices_and_the_whole_line_count_alike(root) -> None:
    """Cans that a slice counts tip as often as those that go through a line full of cans.

    Two Poisson counts with the same rate: given their sum, the first is binomial with its share of
    the cans.
    """
    track = loaded_track(load_scenario(root / "tests/trial/small_line.toml"), "sleek body")
    stronger = replace(track.shaking, energy_mJ=6.0 * track.shaking.energy_mJ)
    line = Line("sleek body", 3, replace(track, shaking=stronger))
    (slices,) = run_many([line], cans=400, repeats=3)
    (whole,) = run_many([line], cans=400, repeats=3, whole_line=True)
    assert (whole.counted, whole.whole_line, slices.whole_line) == (1200, True, False)
    first = [sum(each.first_tips) for each in (slices, whole)]
    assert min(first) >= 10
    share = slices.counted / (slices.counted + whole.counted)
    assert stats.binomtest(first[0], sum(first), share).pvalue > 0.01


def test_nothing_done_is_not_a_rate(wide, can) -> None:
    none = Passages("x", 0, ("a",), (), 3, True)
    assert math.isnan(none.tips_per_million)
    assert all(math.isnan(end) for end in none.tips_per_million_interval)


@pytest.mark.parametrize("bad", [{"cans": 0}, {"repeats": 0}, {"workers": 0}, {"cans": 1.5}])
def test_bad_numbers_are_named(wide, can, bad) -> None:
    with pytest.raises(InputError):
        many(wide, can, **({"cans": 10, "repeats": 1, "seed": 1} | bad))
