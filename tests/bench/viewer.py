"""Rows about the viewer: pictures on a software surface of full HD."""

from __future__ import annotations

import os
from collections.abc import Iterator

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")

import pygame

from tests.bench.scenes import SLEEK, WIDE, line_of
from tests.bench.table import Row
from tests.bench.timing import alternated, cpu_ms, in_turns, process_s
from viewer.line import LoadedLine
from viewer.session.actions import act, tick
from viewer.session.adjust import DIALS
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.views.whole_window import whole_window
from viewer.window.paint import Painter

SIZE = (1920, 1080)

FIRST = """
import gc, sys
from viewer.__main__ import main
sys.argv = ["packsim-viewer", "scenarios/swing_line.toml"]
gc.disable()  # as main does
from viewer.window import app
run = app.run
app.run = lambda session: run(session, max_frames=1)
main()
"""


def _opened(cans: int, size: str) -> tuple[Session, Live]:
    """A session on the swing line at a length that holds so many cans, nothing lying over it."""
    source = Live(LoadedLine(line_of(size, cans), size), 1)
    session = Session(source, SIZE, seed=1)
    act(session, "close")
    return session, source


def pictures(quick: bool) -> Iterator[Row]:
    """Whole windows: cans with their leans, panels, overlays."""
    session, source = _opened(800 if quick else 15_000, SLEEK)
    session.step(2 if quick else 40)
    surface, painter = pygame.Surface(SIZE, 0, 32), Painter(session.layout.scale)

    def picture() -> None:
        source._show(single=False)
        painter.paint(surface, whole_window(session))

    rounds = 2 if quick else 25
    spent = alternated({"ours": picture}, rounds)["ours"]
    name = f"{len(source.frame):,} cans, all in view, with their leans"
    yield Row("a picture", name, spent, at_most=12.0)
    session, source = _opened(800 if quick else 6_240, WIDE)
    painter, now = Painter(session.layout.scale), [0.0]

    def stepped() -> None:
        now[0] += source.dt_s
        tick(session, now[0])
        painter.paint(surface, whole_window(session))

    spent = alternated({"ours": stepped}, rounds)["ours"]
    name = f"{len(source.frame):,} cans, a step for every picture"
    yield Row("a step and a picture", name, spent, at_most=1e3 / 60.0)

    def turned() -> None:
        act(session, "turn", 1)
        session.turning = True  # as in the window
        painter.paint(surface, whole_window(session))

    def at_rest() -> float:
        turned()
        session.turning = False
        return cpu_ms(lambda: painter.paint(surface, whole_window(session)))

    for knob in ("clear width", "nozzle pitch"):  # the usual one, and the one that asks for most
        session.dial = [dial.name for dial in DIALS].index(knob)
        spent = alternated({"ours": turned}, 2 if quick else 7)["ours"]
        name = f"{knob}, {len(source.frame):,} cans, every stage"
        yield Row("a turn of a knob, and its picture", name, spent, at_most=50.0)
        spent = in_turns({"ours": at_rest}, 2 if quick else 7)["ours"]
        yield Row("the next picture, with what to set to", name, spent)
    process_s(("-c", FIRST))
    job = {"ours": lambda: process_s(("-c", FIRST))[0]}
    first = in_turns(job, 1 if quick else 3)["ours"]
    yield Row("first picture", "from the start of the process", first, "s", at_most=1.2)
