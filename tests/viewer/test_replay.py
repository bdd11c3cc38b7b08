"""A recorded passage shows the counts it was recorded with."""

from __future__ import annotations

import pytest

from packsim.errors import InputError
from packsim.passage.run import run_passage
from packsim.passage.store import load_record, save_record
from packsim.passage.track import loaded_track
from packsim.scenario.lesson_tables import ChangesRow
from packsim.scenario.write import scenario_to_toml
from viewer.lessons.lesson import changed
from viewer.session.actions import act
from viewer.session.adjust import DIALS
from viewer.session.open import open_session, read_options
from viewer.session.replay import Replay
from viewer.session.source import Live
from viewer.session.tip_actions import run_to_tip
from viewer.session.tips import OF_SLICE, at_tip
from viewer.views.tip import tip_words
from viewer.views.whole_window import whole_window


@pytest.fixture(scope="module")
def loose(loaded):
    return changed(loaded, ChangesRow(slack="34 mm"), 0)


@pytest.fixture(scope="module")
def record(loose):
    track = loaded_track(loose.scenario, loose.size)
    text = scenario_to_toml(loose.scenario)
    return run_passage(
        track, seed=12, time_s=13.3, frame_every_s=0.5, size=loose.size, scenario=text
    )


def test_it_ends_with_the_counts_of_the_record(record, loose, tmp_path):
    assert record.tipped.sum() > 0
    save_record(record, tmp_path / "passage.npz")
    replay = Replay(load_record(tmp_path / "passage.npz"), loose)
    assert int(replay.tips.sum()) == 0
    seen = 0
    while replay.reach[1]:
        replay.step(1)
        assert int(replay.tips.sum()) >= seen
        seen = int(replay.tips.sum())
    assert (replay.tips == record.tipped).all()
    assert replay.flow == (record.cans_in, record.cans_out)
    lying = int((replay.frame.role == 4).sum())
    assert lying <= seen


def test_watching_live_counts_what_a_run_counts(record, loose):
    source = Live(loose, 12)
    source.step(round(record.time_s / source.dt_s))
    assert (source.tips == record.tipped).all()
    assert source.flow[1] == record.cans_out


def test_the_viewer_opens_it_and_refuses_to_change_it(record, tmp_path):
    save_record(record, tmp_path / "passage.npz")
    session = open_session(read_options([str(tmp_path / "passage.npz")]))
    act(session, "close")
    act(session, "turn", 1)
    assert "recorded" in session.message
    session.step(999)
    assert (session.pack.source.tips == record.tipped).all()
    act(session, "restart")
    assert session.pack.source.frame.time_s == 0.0
    act(session, "dial", [dial.name for dial in DIALS].index("can size"))
    act(session, "turn", 1)
    assert "recorded" in session.message
    act(session, "beside")
    assert len(session.packs) == 1


def test_a_record_without_frames_is_refused(record, loose):
    from dataclasses import replace

    with pytest.raises(InputError, match="frame"):
        Replay(replace(record, frames=()), loose)


def test_a_tip_of_a_recording_is_shown_from_the_frame_before_it(record, loose, tmp_path):
    save_record(record, tmp_path / "passage.npz")
    session = open_session(read_options([str(tmp_path / "passage.npz")]))
    act(session, "close")
    session.step(10_000)
    ended = session.pack.source.frame.time_s
    act(session, "tip", -1)
    show, event = session.tip, record.events[-1]
    assert show is not None, session.message
    assert show.fall.event == event
    assert show.fall.swing.over
    at_tip(session, show, 0.0)
    frame = session.pack.source.frame
    assert 0.0 <= event.time_s - frame.time_s < record.interval_s
    assert frame.role[frame.id == event.can] < 4  # it still stands there
    assert tip_words(event, len(show.fall.cans) - 1, session.display) in [
        text.text for text in whole_window(session).texts
    ]
    act(session, "close")
    assert session.pack.source.frame.time_s == ended


def test_a_tip_of_a_recorded_slice_is_refused_in_words(loose, tmp_path):
    track, text = loaded_track(loose.scenario, loose.size), scenario_to_toml(loose.scenario)
    record = run_passage(track, seed=0, slice_mm=1500.0, size=loose.size, scenario=text)
    assert record.tipped.sum() > 0
    save_record(record, tmp_path / "slice.npz")
    session = open_session(read_options([str(tmp_path / "slice.npz")]))
    act(session, "close")
    session.step(10_000)
    ended = session.pack.source.frame.time_s
    act(session, "tip", -1)
    assert (session.tip, session.message) == (None, OF_SLICE)
    assert session.pack.source.frame.time_s == ended
    assert any(OF_SLICE in text.text for text in whole_window(session).texts)
    fresh = open_session(read_options([str(tmp_path / "slice.npz")]))
    with pytest.raises(InputError, match="recorded slice"):
        run_to_tip(fresh)
