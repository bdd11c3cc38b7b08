"""The clock: steps due, pause, gears, and frames between frames."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.session.actions import act, tick
from viewer.session.playback import MAX_KEPT, MAX_STEPS, SPEEDS, Kept, Playback, between
from viewer.session.source import Live
from viewer.views.whole_window import whole_window
from viewer.window.app import Pace


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


def paced(clock: Playback, gap_s: float, seconds: float, most: int = 4) -> Playback:
    """Ask a clock at even gaps."""
    for k in range(round(seconds / gap_s) + 1):
        clock, _ = clock.at(k * gap_s, most)
    return clock


def test_the_speed_is_measured_and_what_is_shown_is_counted_at_the_speed_it_says():
    fast, slow = paced(Playback(0.05, 4.0), 0.02, 10.0), paced(Playback(0.05, 4.0), 0.4, 10.0)
    assert fast.measured == pytest.approx(4.0, rel=0.01)
    assert fast.shown_s == pytest.approx(10.0)
    # four steps of 0.05 s every 0.4 s are half a second of passage a second, not four
    assert slow.measured == pytest.approx(0.5, rel=0.01)
    assert slow.shown_s == pytest.approx(10.0 * 0.5 / 4.0, rel=0.01)
    assert paced(Playback(0.05, 4.0, running=False), 0.4, 10.0).shown_s == pytest.approx(10.0)


def test_a_speed_the_computer_does_not_reach_is_lowered_to_one_it_does():
    clock = paced(Playback(0.05, 8.0), 0.1, 1.1)  # 2 s of passage a second at most
    assert clock.lowered() == clock, "once is no reason yet"
    clock = paced(Playback(0.05, 8.0), 0.1, 2.5)
    assert clock.lowered().speed == 2.0
    assert np.isnan(clock.lowered().measured)
    assert paced(Playback(0.05, 2.0), 0.1, 9.0).lowered().speed == 2.0
    assert paced(Playback(0.05, 1.0), 9.0, 99.0).lowered().speed == SPEEDS[0]


def test_the_window_says_that_it_is_slower_and_what_it_really_shows(make_session):
    session = make_session()
    session.clock = session.clock.at_speed(8.0)
    shown = []
    for k in range(40):
        tick(session, 0.1 * k, most=4)
        shown += [text.text for text in whole_window(session).texts if text.text[:1] == "×"]
        if session.message:
            break
    assert "× 8 · × 2.0" in shown
    assert session.clock.speed == 2.0
    assert "× 2" in session.message
    assert session.pack.source.frame.time_s == pytest.approx(2.0 * 0.1 * k, abs=0.41)
    session.message = ""
    session.clock = session.clock.at_speed(SPEEDS[0])
    for k in range(40, 80):
        tick(session, 30.0 * k, most=4)
    assert not session.message, "there is no slower gear to go to"


@pytest.mark.parametrize(("step_s", "reached"), [(0.0005, 8.0), (0.002, 5.0), (1.0, 0.25)])
def test_the_loop_makes_as_many_steps_as_there_is_time_for(
    make_session, monkeypatch, step_s, reached
):
    """A picture may be slow to paint while steps are cheap: the speed is kept then."""
    session, spent, pace = make_session(), [0.0], Pace()
    session.clock = session.clock.at_speed(8.0)
    session.filmed_s = -1.0  # the gear stays, so that the speed is measured
    monkeypatch.setattr("viewer.window.app.perf_counter", lambda: spent[0])
    monkeypatch.setattr("viewer.window.app.FILM_FPS", 0.1)  # and no picture of a clip is waited for

    def step(count: int) -> None:
        spent[0] += count * step_s

    monkeypatch.setattr(session, "step", step)
    for k in range(100):
        pace.tick(session, 0.2 * k)
    assert session.clock.measured == pytest.approx(reached, rel=0.15)


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


def seen(source: Live) -> tuple[object, ...]:
    """Everything a picture takes from a source."""
    frame = source.frame
    arrays = frame.x_mm, frame.y_mm, frame.lean_rad, frame.role, source.tips, *source.slack_now
    whole = tuple(array.tobytes() for array in arrays)
    return (*whole, frame.time_s, source.events, source.flow, source.expected_per_million)


def test_what_was_seen_is_seen_again_and_goes_on_as_it_would_have(make_session):
    session, other = make_session(), make_session()
    for one in (session, other):
        act(one, "voids")  # shading is not looked at, and takes a third of the time
        act(one, "turn", 60)
    source = session.pack.source
    session.step(200)
    other.step(200)
    there = []
    for _ in range(120):
        session.step(1)
        there.append(seen(source))
    assert int(source.tips.sum()) > 0
    for at in (118, 60, 3, 40, 119):
        session.go_to((at + 201) * source.dt_s)
        assert seen(source) == there[at]
    session.step(-100)
    assert session.reach == (220, 100)
    session.step(180)  # 100 of them are kept, 80 are new
    other.step(200)
    assert seen(source) == seen(other.pack.source)


def test_a_change_made_in_the_past_is_where_the_passage_goes_on(make_session):
    session = make_session()
    session.step(40)
    act(session, "turn", 60)
    wide = session.pack.source.loaded
    session.step(20)
    session.step(-30)
    assert session.pack.source.loaded != wide, "ten steps before the guides were opened"
    session.step(10)
    assert session.pack.source.loaded == wide
    session.step(-15)
    act(session, "turn", -4)
    assert session.reach[1] == 0
    assert session.pack.source.frame.time_s == pytest.approx(25 * 0.05)
    session.step(3)
    assert session.pack.source.loaded != wide


def test_two_packs_go_back_in_step(make_session):
    session = make_session()
    session.step(5)
    act(session, "beside")
    session.step(30)
    act(session, "one step", -1)
    act(session, "seconds", -1)
    times = [pack.source.frame.time_s for pack in session.packs]
    assert times == pytest.approx([9 * 0.05] * 2)
    act(session, "newest")
    assert [pack.source.frame.time_s for pack in session.packs] == pytest.approx([1.5] * 2)
    session.step(-99)
    assert session.pack.source.frame.time_s == 0.0
    assert "time, 1.5 s back" in [text.text for text in whole_window(session).texts]
    act(session, "one step", -1)
    assert "nothing earlier" in session.message
    act(session, "newest")
    assert "time" in [text.text for text in whole_window(session).texts]


def test_following_goes_back_with_the_pack(make_session):
    session = make_session()
    act(session, "follow")
    session.step(20)
    u = session.camera.u_mm
    session.step(10)
    session.step(-10)
    assert session.camera.u_mm == pytest.approx(u)


@given(st.lists(st.tuples(st.booleans(), st.integers(-6, 6), st.integers(0, 40)), max_size=60))
def test_what_is_kept_stays_within_its_memory_and_in_order(doings):
    kept, newest = Kept(0, most_bytes=100), 0
    sizes = {0: 0}
    for adds, steps, size in doings:
        if adds:
            newest = kept.now + 1
            kept.add(newest, size)
            sizes[newest] = size
        else:
            before = kept.now
            assert kept.move(steps) == kept.now - before
        back, ahead = kept.reach
        held = range(kept.now - back, kept.now + ahead + 1)
        assert held[-1] == newest
        assert sum(sizes[i] for i in held) <= 100 or len(held) == 1


def test_no_more_than_so_many_moments_are_kept():
    kept = Kept(0)
    for i in range(1, MAX_KEPT + 50):
        kept.add(i, 1)
    assert kept.reach == (MAX_KEPT - 1, 0)


def test_the_past_of_a_large_pack_takes_no_more_memory_than_it_says(make_session):
    """Measured: one object after the other, by what tracemalloc sees of them."""
    import tracemalloc

    session = make_session()
    act(session, "voids")
    source = session.pack.source
    source._kept = Kept(source._kept.now, 1_000_000)
    session.step(100)
    tracemalloc.start()
    session.step(50)
    first = tracemalloc.get_traced_memory()[0]
    session.step(200)
    grown = tracemalloc.get_traced_memory()[0] - first
    tracemalloc.stop()
    assert 0 < source.reach[0] < 200
    assert grown < 1_500_000
