"""Keys, clicks, drags, wheel, sizes and focus at random: no exception, the state always consistent.

A few hundred events by default; ``--random-events 10000`` gives more.
"""

from __future__ import annotations

import numpy as np
import pygame
import pytest
from pygame._sdl2.video import Window

from viewer.screen.drawing import Grip
from viewer.session.actions import act
from viewer.session.adjust import DIALS
from viewer.session.drag import drop
from viewer.session.keys import CONTROLS
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.views.whole_window import whole_window

from .test_app import key, play, press

SEED = 20261
EVENTS_A_PICTURE = 10
LEFT_OUT = ("quit", "save", "picture", "clip")
"""What ends the window or writes files; each has tests of its own."""

NAMES = [name for c in CONTROLS for name in c.keys if c.action not in LEFT_OUT]
NAMES = [name for name in NAMES if not name.endswith("++")] + ["f5", "b", "x", "left shift"]


def post(kind: int, **values: object) -> None:
    pygame.event.post(pygame.event.Event(kind, **values))


def move(x: float, y: float) -> None:
    post(pygame.MOUSEMOTION, pos=(int(x), int(y)), rel=(1, 1), buttons=(1, 0, 0))


class Restless:
    """Somebody who does anything at all."""

    def __init__(self, session: Session, seed: int) -> None:
        self.session, self.rng = session, np.random.default_rng(seed)
        self.windows: list[Window] = []  # pygame tells of those it has handed out, kept or not

    def picture(self) -> None:
        """Check what the last picture left, and do some things before the next."""
        check(self.session)
        for _ in range(EVENTS_A_PICTURE):
            self.do()

    def do(self) -> None:
        x, y = (int(v) for v in self.rng.integers(-20, 1400, 2))
        kind = self.rng.integers(0, 10)
        if kind <= 2:
            key(str(self.rng.choice(NAMES)))
        elif kind == 3:
            press(x, y)
        elif kind == 4:
            self.click_on_something()
        elif kind == 5:
            post(pygame.MOUSEWHEEL, x=0, y=int(self.rng.integers(-9, 9)))
        elif kind == 6:
            move(x, y)
        elif kind <= 8:
            self.drag()
        elif self.rng.random() < 0.7:
            self.resize()
        else:
            post(pygame.WINDOWFOCUSLOST if self.rng.random() < 0.5 else pygame.WINDOWLEAVE)

    def resize(self) -> None:
        """Pull at a corner of the window; or tell of a size that it never takes."""
        w, h = (int(v) for v in self.rng.integers(200, 1400, 2))
        if self.rng.random() < 0.5:
            self.windows.append(Window.from_display_module())
            self.windows[-1].size = w, h
        else:
            post(pygame.VIDEORESIZE, w=w, h=h, size=(w, h))

    def click_on_something(self) -> None:
        hits = [h for h in whole_window(self.session).hits if h.action not in LEFT_OUT]
        if hits:
            box = hits[int(self.rng.integers(len(hits)))].box
            press(box.x + box.w // 2, box.y + box.h // 2)

    def drag(self) -> None:
        """Take a handle and go somewhere by some moves; let go mostly."""
        grips = [hit for hit in whole_window(self.session).hits if isinstance(hit, Grip)]
        if not grips:
            return
        box = grips[int(self.rng.integers(len(grips)))].box
        x, y = box.x + box.w // 2, box.y + box.h // 2
        post(pygame.MOUSEBUTTONDOWN, button=1, pos=(x, y))
        for _ in range(int(self.rng.integers(1, 5))):
            y += int(self.rng.normal(0.0, 30.0))
            move(x, y)
        if self.rng.random() < 0.7:
            post(pygame.MOUSEBUTTONUP, button=1, pos=(x, y))


def check(session: Session) -> None:
    """Check that nothing in a session contradicts anything else."""
    layout = session.layout
    assert layout.window.w >= 320
    assert layout.window.h >= 200
    assert 0 <= session.active < len(session.packs) <= 2
    assert session.chosen is None or session.chosen < len(session.packs)
    assert 0 <= session.stage < len(session.pack.source.line_map.stages)
    assert 0 <= session.dial < len(DIALS)
    assert np.isfinite([session.camera.u_mm, session.camera.v_mm, session.camera.px_per_mm]).all()
    if session.drag is not None:
        assert session.tip is None
        assert session.drag.grip.pack == session.active
    times = {pack.source.frame.time_s for pack in session.packs}
    assert len(times) == 1
    for pack in session.packs:
        source = pack.source
        assert isinstance(source, Live)
        assert len(source.events) == int(source.tips.sum())
        assert source.flow[0] >= source.flow[1] >= 0
        assert np.isfinite(source.frame.x_mm).all()
        assert np.isfinite(source.frame.y_mm).all()
        assert len(np.unique(source.frame.id)) == len(source.frame)
        assert len(source.answers) == len(source.loaded.scenario.stages)
        assert all(line.size for line in (*pack.done, *pack.undone))
        seen = [sample.time_s for sample in source.run.samples]
        assert seen == sorted(seen)
        for line in source.counted.lines():
            count, runs = source.counted.under(line)
            assert count.cans > 0
            assert runs >= 1
            assert (count.tips >= 0).all()


@pytest.fixture
def events(request) -> int:
    return int(request.config.getoption("--random-events"))


def test_random_events_do_no_harm_and_undo_leads_back(make_session, events):
    session = make_session(start=True)
    restless = Restless(session, SEED)
    pictures = events // EVENTS_A_PICTURE
    play(session, dict.fromkeys(range(1, pictures + 1), restless.picture), pictures + 2)
    check(session)
    drop(session)
    session.overlay = ""
    for pack in range(len(session.packs)):
        session.active = pack
        if session.pack.done:
            oldest = session.pack.done[0]
            while session.pack.done:
                act(session, "undo")
            assert session.pack.source.loaded == oldest
