"""The clock: steps due, pause, gears, and frames between frames."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.session.playback import MAX_STEPS, SPEEDS, Playback, between


@given(st.lists(st.floats(0.0, 0.15), min_size=1, max_size=60))
def test_steps_add_up_to_the_time_that_passed(gaps):
    clock, _ = Playback(0.05).at(0.0)
    now, steps = 0.0, 0
    for gap in gaps:
        now += gap
        clock, due = clock.at(now)
        steps += due
    assert steps * 0.05 + clock.owed_s == pytest.approx(now, abs=1e-6)
    assert 0.0 <= clock.share <= 1.0


def test_nothing_is_due_while_paused_and_nothing_is_made_up_later():
    clock, _ = Playback(0.05).toggled().at(0.0)
    clock, due = clock.at(5.0)
    assert due == 0
    _, due = clock.toggled().at(5.05)
    assert due == 1


def test_a_slow_machine_slows_the_passage_down():
    clock, _ = Playback(0.05, speed=8.0).at(0.0)
    clock, due = clock.at(10.0)
    assert (due, clock.owed_s) == (MAX_STEPS, 0.0)


def test_time_that_runs_backwards_does_nothing():
    clock, _ = Playback(0.05).at(10.0)
    assert clock.at(3.0)[1] == 0


def test_gears_stop_at_the_ends():
    assert Playback(0.05).geared(99).speed == SPEEDS[-1]
    assert Playback(0.05).geared(-99).speed == SPEEDS[0]
    assert Playback(0.05).geared(1).geared(-1).speed == 1.0


def test_half_way_is_half_way_for_cans_in_both_frames(make_frame):
    before = make_frame([[0.0, 10.0], [70.0, 10.0]], numbers=[4, 5])
    after = make_frame([[74.0, 12.0], [0.0, 50.0]], time_s=0.05, numbers=[5, 6])
    after = replace(after, travel_mm=4.0)
    middle = between(before, after, 0.5)
    # 4 has left: it rides on with the mat; 5 moved by (4, 2); 6 is not there yet
    assert middle.x_mm.tolist() == pytest.approx([2.0, 72.0])
    assert middle.y_mm.tolist() == pytest.approx([10.0, 11.0])
    assert middle.time_s == pytest.approx(0.025)
    assert between(before, after, 0.0) is before
    assert between(before, after, 1.0) is after


def test_a_can_that_comes_round_does_not_fly_across(make_frame):
    before = make_frame([[9990.0, 10.0]])
    after = make_frame([[5.0, 10.0]])
    assert between(before, after, 0.5).x_mm.tolist() == [9990.0]


def test_no_cans_is_no_trouble(make_frame):
    none = make_frame(np.empty((0, 2)))
    assert len(between(none, make_frame([[1.0, 1.0]]), 0.5)) == 0
    assert len(between(make_frame([[1.0, 1.0]]), none, 0.5)) == 1
