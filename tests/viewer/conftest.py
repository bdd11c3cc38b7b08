"""Small lines and sessions to watch."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from packsim.passage import Frame
from packsim.report.words.display import Display
from packsim.scenario.load import load_scenario
from viewer.line import LoadedLine
from viewer.session.actions import act
from viewer.session.moment import Moment
from viewer.session.session import Session
from viewer.session.source import Live

TEACHING = "scenarios/lessons/lines/teaching_line.toml"


@pytest.fixture(scope="session")
def loaded(root: Path) -> LoadedLine:
    """The short line of the lessons: two stages, headers, two sizes."""
    scenario = load_scenario(root / TEACHING)
    return LoadedLine(scenario, scenario.set_for)


@pytest.fixture
def make_session(loaded: LoadedLine, tmp_path: Path) -> Callable[..., Session]:
    """Make a session past its cautions; ``start`` True leaves them on."""

    def make(size_px=(1280, 720), *, start=False, seed=12, at=None, **options) -> Session:
        source = Live(at or loaded, seed)
        session = Session(source, size_px, seed=seed, folder=tmp_path, stem="line", **options)
        if not start:
            act(session, "close")
        return session

    return make


@pytest.fixture(scope="session")
def loosen() -> Callable[[Session], None]:
    """Open the guides far, and go on from two seconds before the first can tips, found once."""
    found: list[Moment] = []

    def far(session: Session) -> None:
        own, session.display = session.display, Display()  # as far in inches, to be laid beside
        act(session, "turn", 60)
        session.display = own
        source = session.pack.source
        assert isinstance(source, Live)
        while not found and not source.events:
            source.step(1)
        if not found:
            source.step(-40)
            found.append(source.moment)
        assert found[0].line.loaded == source.loaded, "another line has another first tip"
        source.begin_at(found[0])

    return far


@pytest.fixture
def make_frame() -> Callable[..., Frame]:
    """Make a frame of cans 66 mm wide at given places, all of one role and direction."""

    def make(places, role=0, lean=0.0, direction=0.0, time_s=0.0, numbers=None) -> Frame:
        at = np.asarray(places, dtype=np.float32).reshape(-1, 2)
        n = len(at)
        full = np.full
        return Frame(
            time_s,
            0.0,
            at[:, 0],
            at[:, 1],
            full(n, 33.0, dtype=np.float32),
            full(n, lean, dtype=np.float32),
            full(n, direction, dtype=np.float32),
            np.asarray(np.broadcast_to(role, n), dtype=np.uint8),
            np.arange(n, dtype=np.uint32) if numbers is None else np.asarray(numbers, np.uint32),
        )

    return make
