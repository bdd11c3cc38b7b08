"""What a session was, in words, and its page."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from packsim.report.words.display import Display
from viewer.session.actions import act
from viewer.session.adjust import DIALS, turned
from viewer.views.told import AS_OPENED, changes_made, differences, settings_seen
from viewer.window.app import run
from viewer.window.capture import save_picture
from viewer.window.session_page import session_page

BY_NAME = {dial.name: i for i, dial in enumerate(DIALS)}
METRIC = Display("metric")


def turn(session, dial, steps) -> None:
    session.dial = BY_NAME[dial]
    act(session, "turn", steps)


@pytest.mark.parametrize("number", range(len(DIALS)))
def test_every_dial_that_is_turned_is_told_once(loaded, number):
    dial = DIALS[number]
    after = turned(loaded, dial, 2 if dial.name == "rows" else 1, (0,), 0)
    rows = differences(loaded, after, METRIC)
    if after == loaded:
        assert rows == []
    else:
        assert len([row for row in rows if row.startswith(dial.name)]) == 1
        assert "→" in rows[0]


def test_a_difference_is_told_both_ways_and_stages_that_read_alike_share_a_row(loaded):
    every = tuple(range(len(loaded.scenario.stages)))
    after = turned(loaded, DIALS[BY_NAME["fill"]], -1, every)
    (there,), (back,) = differences(loaded, after, METRIC), differences(after, loaded, METRIC)
    was, now = re.fullmatch(r"fill (.+) → (.+) \(every stage\)", there).groups()
    assert back == f"fill {now} → {was} (every stage)"


def test_what_no_dial_turns_is_not_passed_over(loaded):
    other = replace(loaded, scenario=replace(loaded.scenario, seed=loaded.scenario.seed + 1))
    assert differences(loaded, other, METRIC) == ["something else than the dials turn"]
    assert differences(loaded, loaded, METRIC) == []


def test_settings_hold_all_that_came_in_and_tipped(make_session):
    session = make_session()
    source = session.pack.source
    began = source.flow[0]
    act(session, "voids")  # shading is not looked at, and takes a third of the time
    session.step(100)
    turn(session, "clear width", 60)
    session.step(320)
    rows = settings_seen(source.counted, session.pack.first, METRIC)
    assert [row.what[0].split()[0] for row in rows] == [AS_OPENED.split()[0], "clear"]
    assert sum(row.cans for row in rows) == source.flow[0] - began
    assert sum(int(row.tips.split(":")[0]) for row in rows) == source.tips.sum() > 0
    (changes,) = changes_made(source.counted, METRIC)
    assert [c.what for c in changes] == [rows[1].what]
    assert changes[0].time_s == pytest.approx(100 * source.dt_s)


def test_the_page_says_what_was_tried_and_is_the_same_each_time(make_session):
    session = make_session(units="inch")
    session.step(60)
    save_picture(session)
    act(session, "voids")  # shading is not looked at, and takes a third of the time
    turn(session, "clear width", 60)
    session.step(320)
    page = session_page(session)
    text = page.decode()
    assert page == session_page(session)
    assert text.count("<img ") == 2
    assert AS_OPENED in text
    assert "clear width" in text
    assert " mm" not in text
    assert "lock out" in text
    assert "needed" in text
    assert "http" not in text


def test_the_window_saves_the_page_under_a_free_name(make_session, tmp_path):
    session = make_session((640, 400))
    act(session, "session page")
    act(session, "session page")
    run(session, max_frames=1, clock=lambda: 0.0)
    assert [path.name for path in sorted(tmp_path.iterdir())] == [
        "line-session-1.html",
        "line-session-2.html",
    ]
    assert "saved" in session.message
