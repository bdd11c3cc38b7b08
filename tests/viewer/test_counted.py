"""What is counted under which line, and the graph that shows it."""

from __future__ import annotations

import numpy as np
import pytest

from viewer.screen.drawing import Polyline
from viewer.session.actions import act
from viewer.session.adjust import DIALS
from viewer.session.counted import other_guides_only
from viewer.views.whole_window import whole_window

BY_NAME = {dial.name: i for i, dial in enumerate(DIALS)}


def turn(session, dial, steps) -> None:
    session.dial = BY_NAME[dial]
    act(session, "turn", steps)


def counts(session, line=None):
    """Return tips in all and cans counted under a line, the one that is set by default."""
    count, _ = session.pack.source.counted.under(line or session.pack.source.loaded)
    return int(count.tips.sum()), count.cans


@pytest.fixture
def loose(make_session):
    """A session whose guides stand so wide that cans tip."""
    session = make_session()
    turn(session, "clear width", 60)
    return session


def test_all_that_came_in_and_tipped_is_counted_under_some_line(loose):
    began_with = loose.pack.source.flow[0]
    for steps in (0, 8, -4, 2):
        turn(loose, "clear width", steps)
        loose.step(150)
    source = loose.pack.source
    found = [source.counted.under(line)[0] for line in source.counted.lines()]
    assert sum(count.cans for count in found) == source.flow[0] - began_with
    assert np.array_equal(sum(count.tips for count in found), source.tips.sum(axis=1))
    assert source.tips.sum() > 0


def test_counts_survive_undo(loose):
    loose.step(200)
    line, before = loose.pack.source.loaded, counts(loose)
    turn(loose, "clear width", -40)
    loose.step(100)
    assert counts(loose, line) == before
    act(loose, "undo")
    loose.step(100)
    assert counts(loose)[1] > before[1]


def test_looking_again_counts_nothing(loose):
    loose.step(200)
    before = counts(loose)
    loose.step(-100)
    loose.step(100)
    assert counts(loose) == before


def test_the_same_run_again_is_not_counted_twice(loose):
    loose.step(200)
    act(loose, "restart")
    loose.step(200)
    once = counts(loose)
    act(loose, "restart")
    assert counts(loose) == once
    loose.step(200)
    assert counts(loose) == once
    loose.step(100)
    assert counts(loose)[1] > once[1]


def test_counts_survive_another_size_and_a_second_pack(loose):
    loose.step(300)
    line, before = loose.pack.source.loaded, counts(loose)
    turn(loose, "can size", 1)
    loose.step(50)
    assert counts(loose)[1] < before[1]
    turn(loose, "can size", -1)
    assert loose.pack.source.loaded == line
    assert counts(loose) == before
    act(loose, "beside")
    turn(loose, "clear width", 4)
    loose.step(100)
    lower, seen = loose.pack.source.loaded, counts(loose)
    assert seen[1] > 0
    act(loose, "beside")
    assert counts(loose, lower) == seen


def test_only_guides_may_differ_for_a_point_of_the_graph(loose):
    line = loose.pack.source.loaded
    turn(loose, "clear width", 3)
    assert other_guides_only(line, loose.pack.source.loaded)
    turn(loose, "wire height", 1)
    assert not other_guides_only(line, loose.pack.source.loaded)


def test_the_graph_shows_what_was_counted_and_marks_changes(loose):
    act(loose, "graph")
    loose.step(200)
    turn(loose, "clear width", 2)
    loose.step(200)
    tips, cans = counts(loose)
    said = [text.text for text in whole_window(loose).texts]
    stage = int(loose.pack.source.counted.under(loose.pack.source.loaded)[0].tips[0])
    assert f"618.0 mm: {stage} tips of {cans} cans" in said
    assert tips >= stage
    facts = loose.layout.facts
    lines = [i for i in whole_window(loose).items if isinstance(i, Polyline)]
    inside = [i for i in lines if i.clip is not None and facts.holds(i.clip.x, i.clip.y)]
    assert sum(i.role == "bound" for i in inside) == 2
    assert {"lean", "alarm"} <= {i.role for i in inside}
    act(loose, "graph")
    assert not any("tips of" in text.text for text in whole_window(loose).texts)


def test_a_mark_after_going_back_takes_the_place_of_what_followed(loose):
    loose.step(100)
    turn(loose, "clear width", 2)
    loose.step(100)
    loose.step(-80)
    turn(loose, "clear width", 2)
    run = loose.pack.source.run
    assert [mark.time_s for mark in run.marks] == sorted(mark.time_s for mark in run.marks)
    assert run.samples[-1].time_s <= loose.pack.source.frame.time_s
