"""Dragging guides, wires, headers and the pack: as the keys, one undo, stopped where it must."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pygame
import pytest

from packsim.passage.frames import frame_of
from packsim.scenario.load import load_scenario
from viewer.line import LoadedLine
from viewer.screen.drawing import Grip
from viewer.session import drag as drag_room
from viewer.session.actions import act, tick
from viewer.session.adjust import DIALS
from viewer.session.drag import PLACES
from viewer.views.whole_window import whole_window
from viewer.window.events import Mouse, handle

HANDLES = [
    ("clear width", 1), ("clear width", 2), ("shift", 0), ("wire height", 0),
    ("wire height", 2), ("header place", 0), ("header place", 1),
]  # fmt: skip


@pytest.fixture
def session(make_session):
    session = make_session(size_px=(1600, 900), scale=1.0)
    session.clock = session.clock.toggled()
    act(session, "zoom stage")
    session.camera = session.camera.zoomed(0.8 / session.camera.px_per_mm)
    return session


def grip_of(session, dial, part) -> Grip:
    """Return the handle of a part of the chosen stage."""
    grips = [hit for hit in whole_window(session).hits if isinstance(hit, Grip)]
    wanted = PLACES[dial], part, session.stage
    return next(g for g in grips if (g.argument, g.part, g.stage) == wanted)


class Hand:
    """A mouse that goes from place to place, with a picture after each."""

    def __init__(self, session) -> None:
        self.session, self.mouse, self.now_s = session, Mouse(), session.now_s

    def __call__(self, kind, at) -> None:
        drawing = whole_window(self.session)
        event = pygame.event.Event(kind, pos=at, button=1)
        handle(self.session, self.mouse, event, drawing)
        self.now_s += 0.01
        tick(self.session, self.now_s)

    def drag(self, grip, steps, *, let_go=True) -> None:
        """Take a handle in its middle and bring it some steps on, by three moves."""
        x, y = grip.box.x + grip.box.w // 2, grip.box.y + grip.box.h // 2
        self(pygame.MOUSEBUTTONDOWN, (x, y))
        far = y + steps * grip.px_per_step
        for share in (0.4, 0.8, 1.0):
            self(pygame.MOUSEMOTION, (x, y + (far - y) * share))
        if let_go:
            self(pygame.MOUSEBUTTONUP, (x, far))


def key(session, dial, part, steps) -> None:
    """Do the same by keys."""
    act(session, "dial", PLACES[dial])
    while session.part != part or session.dial != PLACES[dial]:
        act(session, "dial", PLACES[dial])
    act(session, "turn", steps)


@pytest.mark.parametrize(("dial", "part"), HANDLES)
def test_a_drag_and_the_same_by_keys_give_the_same_line_and_one_undo_takes_it_back(
    session, make_session, dial, part
):
    first = session.pack.source.loaded
    hand = Hand(session)
    steps = 20
    hand.drag(grip_of(session, dial, part), steps)
    other = make_session(size_px=(1600, 900))
    key(other, dial, part, steps)
    assert session.pack.source.loaded == other.pack.source.loaded != first
    assert len(session.pack.done) == 1
    act(session, "undo")
    assert session.pack.source.loaded == first
    assert not session.pack.done
    act(session, "redo")
    assert session.pack.source.loaded == other.pack.source.loaded


def test_a_drag_at_once_and_a_turn_at_once_give_the_same_pack(session, make_session):
    other = make_session(size_px=(1600, 900))
    grip = grip_of(session, "clear width", 2)
    hand, (x, y) = Hand(session), (grip.box.x + 40, grip.box.y + grip.box.h // 2)
    hand(pygame.MOUSEBUTTONDOWN, (x, y))
    hand(pygame.MOUSEMOTION, (x, y + 20 * grip.px_per_step))
    hand(pygame.MOUSEBUTTONUP, (x, y + 20 * grip.px_per_step))
    key(other, "clear width", 2, 20)
    for each in (session, other):
        each.step(50)
    # of every can: the frames on the screen know only the leans of what each session looks at
    sources = session.pack.source, other.pack.source
    here, there = (frame_of(source.state, source.track) for source in sources)
    assert np.array_equal(here.x_mm, there.x_mm)
    assert np.array_equal(here.y_mm, there.y_mm)
    assert np.array_equal(here.role, there.role)


def test_numbers_follow_while_dragging_and_the_handle_before_them(session):
    grip = grip_of(session, "clear width", 2)
    slack = session.pack.source.answers[0].pack.slack_mm
    hand = Hand(session)
    hand.drag(grip, 16, let_go=False)
    drag = session.drag
    assert (drag.wanted, drag.drawn) == (16, 16)
    assert 0 < drag.done < 16  # what the picture before showed
    tick(session, 1.0)
    assert drag.done == 16
    moved = 16 * session.pack.source.loaded.scenario.stages[0].guides.setting_step_mm
    found = session.pack.source.answers[0].pack
    assert found.slack_mm == pytest.approx(slack + moved)
    assert not session.pack.done
    act(session, "pause")  # anything else lets go first
    assert session.drag is None
    assert len(session.pack.done) == 1


def test_where_a_turn_takes_long_the_handle_follows_and_the_numbers_come_at_rest(
    session, monkeypatch
):
    monkeypatch.setattr(drag_room, "TURN_S", 0.0)
    grip = grip_of(session, "clear width", 2)
    hand, (x, y) = Hand(session), (grip.box.x + 40, grip.box.y + grip.box.h // 2)
    hand(pygame.MOUSEBUTTONDOWN, (x, y))
    done = []
    for steps in range(11, 31):
        hand(pygame.MOUSEMOTION, (x, y + steps * grip.px_per_step))
        assert session.drag.wanted == steps
        done.append(session.drag.done)
    assert len(set(done)) <= 2 + 20 // drag_room.MOST_WAITING  # not at every picture
    assert done[-1] > 11  # but now and then
    tick(session, hand.now_s + 0.01)
    tick(session, hand.now_s + 0.02)
    assert session.drag.done == 30
    hand(pygame.MOUSEBUTTONUP, (x, y))
    assert len(session.pack.done) == 1


def test_a_guide_is_not_pushed_through_the_pack(session):
    lanes = session.pack.source.answers[0].pack.lanes
    Hand(session).drag(grip_of(session, "clear width", 2), -150)
    found = session.pack.source.answers[0].pack
    assert found.lanes == lanes
    assert found.slack_mm < session.pack.source.loaded.can.diameter_mm / 2.0
    assert "stopped there: guide: got room for" in session.message


def test_a_guide_stops_at_the_end_of_its_brackets_travel(root: Path, make_session):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    session = make_session(at=LoadedLine(scenario, scenario.set_for))
    session.clock = session.clock.toggled()
    act(session, "zoom stage")
    Hand(session).drag(grip_of(session, "clear width", 1), 300)
    guides = session.pack.source.loaded.scenario.stages[0].guides
    assert guides.travel_mm[0] <= guides.narrowest.left_mm < guides.travel_mm[0] + 1.0
    assert "travel of its bracket" in session.message


def test_a_handle_shows_itself_under_the_mouse_and_a_click_picks_its_dial(session):
    grip = grip_of(session, "wire height", 1)
    at = grip.box.x + grip.box.w // 2, grip.box.y + grip.box.h // 2
    assert "drag, or" not in " ".join(t.text for t in whole_window(session).texts)
    hand = Hand(session)
    hand(pygame.MOUSEMOTION, at)
    assert "drag, or H" in " ".join(t.text for t in whole_window(session).texts)
    before = session.pack.source.loaded
    hand(pygame.MOUSEBUTTONDOWN, at)
    hand(pygame.MOUSEBUTTONUP, at)
    assert (DIALS[session.dial].name, session.part) == ("wire height", 1)
    assert session.pack.source.loaded is before


def test_losing_the_focus_lets_go(session):
    hand = Hand(session)
    hand.drag(grip_of(session, "shift", 0), 20, let_go=False)
    handle(session, hand.mouse, pygame.event.Event(pygame.WINDOWFOCUSLOST), whole_window(session))
    assert session.drag is None
    assert len(session.pack.done) == 1
    hand(pygame.MOUSEMOTION, (700, 300))
    assert len(session.pack.done) == 1
