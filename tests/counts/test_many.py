from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from packsim.counts.along_travel import room_along
from packsim.counts.intervals import poisson_interval
from packsim.counts.many import Line, run_many
from packsim.counts.order import Order
from packsim.counts.passages import Passages
from packsim.errors import InputError
from packsim.line import Kicks
from packsim.passage.track import build_track

ROUGH = Kicks(0.6, 2.0, 0.3, 4.0)


def many(scenario, can, seed=5, whole_line=False, **more) -> Passages:
    line = Line(can.name, seed, build_track(scenario, can), whole_line)
    (found,) = run_many([line], **more)
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


@pytest.mark.all
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

    cut = many(wide, can, whole_line=True, cans=20, repeats=4, progress=stop)
    assert cut.interrupted
    assert len(cut.runs) == 2
    assert cut.asked == 4
    assert cut.counted == 40


def test_an_interrupt_inside_a_kernel_keeps_what_is_done_too(wide, can) -> None:
    def stop(done: int, of: int) -> None:
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    cut = many(wide, can, whole_line=True, cans=20, repeats=2, progress=stop)
    assert (cut.interrupted, len(cut.runs)) == (True, 1)


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


def alike(track, **how: int) -> tuple[float, list[int]]:
    """Chance that slices and the whole line differ as they do, and first tips of 1000 cans.

    Two Poisson counts with the same rate: given their sum, the first is binomial with its share of
    the cans.
    """
    lines = [Line("can", 3, track, whole_line) for whole_line in (False, True)]
    slices, whole = run_many(lines, workers=1, dt_s=0.1, **how)
    assert (slices.whole_line, whole.whole_line) == (False, True)
    cans = [each.counted for each in (slices, whole)]
    first = [sum(each.first_tips) for each in (slices, whole)]
    chance = stats.binomtest(first[0], sum(first), cans[0] / sum(cans)).pvalue
    return chance, [round(1000 * tips / of) for tips, of in zip(first, cans, strict=True)]


@pytest.mark.all
@pytest.mark.parametrize("slack", [42.0, 52.0])
def test_slices_and_the_whole_line_count_alike_where_cans_part_along_travel(
    line, can, slack
) -> None:
    pack = line(4, (slack,), length=1500.0, kicks=ROUGH, state="slack", fill=0.99)
    assert room_along(pack, can.name).can_tip
    assert not room_along(pack, can.name).slices_hold
    chance, tips = alike(build_track(pack, can), cans=800, repeats=2)
    assert min(tips) >= 10
    assert chance > 0.01, tips


@pytest.mark.all
def test_slices_hold_cans_that_touch_along_travel(line, can) -> None:
    """At a fill of 1 the pack gets longer on its way, which a slice cannot; the order knows it."""
    pack = line(4, (46.0,), length=1500.0, kicks=ROUGH, state="slack", fill=1.0)
    chance, (slices, whole) = alike(build_track(pack, can), cans=800, repeats=2)
    assert slices < whole
    assert chance < 0.001
    room = room_along(pack, can.name)
    assert (room.can_tip, room.kept_mm, room.slices_hold) == (True, 0.0, True)
    order = Order(cans=20, workers=1)
    assert order.count(pack).whole_line
    assert not replace(order, whole_line=False).count(pack).whole_line


@pytest.mark.all
def test_guides_that_step_in_close_the_pack_up_before_them(line, can) -> None:
    pack = line(4, (46.0, 10.0), kicks=replace(ROUGH, drift_mm_per_s=0.1), state="slack", fill=0.99)
    pack = replace(pack, mat=replace(pack.mat, pack_enters=1.0))
    chance, (slices, whole) = alike(build_track(pack, can), cans=800, repeats=2)
    assert slices > whole
    assert chance < 0.01
    assert room_along(pack, can.name).cans_close_up
    assert Order(cans=20, workers=1).count(pack).whole_line


def test_nothing_done_is_not_a_rate(wide, can) -> None:
    none = Passages("x", 0, ("a",), (), 3, True)
    assert math.isnan(none.tips_per_million)
    assert all(math.isnan(end) for end in none.tips_per_million_interval)


@pytest.mark.parametrize("bad", [{"cans": 0}, {"repeats": 0}, {"workers": 0}, {"cans": 1.5}])
def test_bad_numbers_are_named(wide, can, bad) -> None:
    with pytest.raises(InputError):
        many(wide, can, **({"cans": 10, "repeats": 1, "seed": 1} | bad))
