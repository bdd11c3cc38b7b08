"""The ``packsim-viewer`` command: a window and its loop, or a capture without one."""

import argparse
import gc
import signal
import sys
import warnings
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import pygame

from packsim.errors import InputError, PacksimError
from viewer.lessons.play import LessonPlay
from viewer.line import LoadedLine
from viewer.screen.drawing import Drawing
from viewer.session.actions import tick
from viewer.session.open import TITLE, look_first, open_session, read_options
from viewer.session.playback import MAX_STEPS
from viewer.session.session import Session
from viewer.session.tip_actions import run_to_tip
from viewer.views.overlays import film_mark
from viewer.views.whole_window import whole_window
from viewer.window.capture import Recorder, capture, save_picture
from viewer.window.events import Mouse, handle_all
from viewer.window.film import FILM_FPS
from viewer.window.hand import read_hand
from viewer.window.paint import Painter
from viewer.window.screen import Screen

FRAMES_PER_S = 60
"""The loop draws at most so often."""

STEPS_S = 0.04
"""The steps for one picture may take so long [s]."""


def main(arguments: list[str] | None = None) -> None:
    """Run the command; 0 when it ends well, 2 for bad input, each complaint on a line."""
    warnings.showwarning = _note
    try:
        options = read_options(sys.argv[1:] if arguments is None else arguments)
        session = open_session(options)
        gc.freeze()  # every picture makes thousands of tuples: looking through all else took 70 ms
        gc.enable()
        if session.lesson is not None and options.handout is not None:
            path = _handout(session, session.lesson, options)
            sys.stdout.write(f"{path}\n")
        elif options.capture is not None:
            _capture(session, options)
        else:
            run(session)
    except InputError as error:
        for one in error.each:
            sys.stderr.write(f"packsim-viewer: {' '.join(str(one).split())}\n")
        sys.exit(2)
    except (PacksimError, pygame.error, OSError) as error:
        sys.stderr.write(f"packsim-viewer: {error}\n")
        sys.exit(1)


def _note(message: Warning | str, *_: object, **__: object) -> None:
    """Show a note such as that a file has old names as one line, not as Python would."""
    sys.stderr.write(f"packsim-viewer: {message}\n")


def _handout(session: Session, play: LessonPlay, options: argparse.Namespace) -> Path:
    from viewer.window.handout import save_handout  # templates: loaded when asked for

    return save_handout(session, play, options.handout, replace_old=options.replace)


def _capture(session: Session, options: argparse.Namespace) -> None:
    session.overlay = ""
    if options.after:
        session.step(round(options.after / session.clock.dt_s))
        look_first(session, options.look)  # at what is there by then, and where it was asked to
    if options.look == "tip":
        run_to_tip(session)
    # the window needs none: there an end from outside is one of pygame's events. Raised from here
    # it would come in the middle of compiled code or of what is put away, and could be lost
    before = signal.signal(signal.SIGTERM, lambda *_: session.wants.append("quit"))
    try:
        path = capture(
            session,
            options.capture,
            seconds=options.seconds,
            fps=options.fps,
            hand=None if options.drag is None else read_hand(options.drag),
            replace_old=options.replace,
        )
    finally:
        signal.signal(signal.SIGTERM, before)
        if "quit" in session.wants:  # and whatever else came of it, as what writes a film may end
            sys.exit(128 + signal.SIGTERM)
    sys.stdout.write(f"{path}\n")


class Pace:
    """Lets as many steps be made for a picture as there is time for, by what the last ones took.

    They may take as long as all else in a picture does, and `STEPS_S` in any case.
    """

    def __init__(self) -> None:
        self.most = MAX_STEPS
        self.ended_s = perf_counter()

    def tick(self, session: Session, now_s: float) -> None:
        """Let a session go on to a time [s]."""
        most, began_s = self.most, perf_counter()
        if session.filmed_s is not None:  # every picture of a clip shows a later pack
            each = session.clock.speed / (FILM_FPS * session.clock.dt_s)
            most = min(most, max(1, round(each)))
        made = tick(session, now_s, most=most)
        room_s, self.ended_s = max(STEPS_S, began_s - self.ended_s), perf_counter()
        took_s = self.ended_s - began_s
        if took_s > room_s:
            self.most = max(1, int(made * room_s / took_s))
        elif made >= self.most:
            self.most += 1 + self.most // 4


def run(
    session: Session,
    *,
    max_frames: int | None = None,
    clock: Callable[[], float] | None = None,
    each_frame: Callable[[int], None] | None = None,
) -> Session:
    """Open a window and run until the session wants to quit, or so many pictures are shown.

    ``clock`` gives the seconds since some beginning, pygame's own by default; ``each_frame`` is
    called with the number of each picture before it is drawn.
    """
    screen = Screen()
    pygame.font.init()
    pygame.key.set_repeat(350, 45)
    surface = screen.show(session.layout.window.w, session.layout.window.h)
    pygame.display.set_caption(f"{TITLE}: {session.pack.source.loaded.scenario.name}")
    painter, mouse, recorder = (
        Painter(session.layout.scale, session.palette),
        Mouse(),
        Recorder(session),
    )
    ticker, pace = pygame.time.Clock(), Pace()
    drawing, done = Drawing(), 0  # a click before the first picture hits nothing
    try:
        while "quit" not in session.wants and (max_frames is None or done < max_frames):
            if each_frame is not None:
                each_frame(done)
            lines = _lines(session)
            handle_all(session, mouse, pygame.event.get(), drawing)
            if clock is not None:
                tick(session, clock())
            else:
                pace.tick(session, pygame.time.get_ticks() / 1000.0)
            surface = _do_wants(session, screen, recorder)
            painter.dress(session.layout.scale, session.palette)
            # what is saved waits for every number; a window shows first what comes first
            session.turning = session.filmed_s is None and lines != _lines(session)
            drawing = whole_window(session)
            session.turning = False
            painter.paint(surface, drawing)
            recorder.take(surface)
            painter.paint(surface, film_mark(session))
            pygame.display.flip()
            done += 1
            if clock is None:
                ticker.tick(FRAMES_PER_S)
    finally:
        recorder.stop()
        pygame.display.quit()
    return session


def _lines(session: Session) -> list[LoadedLine]:
    return [pack.source.loaded for pack in session.packs]


def _session_page(session: Session) -> Path:
    from viewer.window.session_page import save_session_page  # templates: loaded when asked for

    return save_session_page(session)


def _do_wants(session: Session, screen: Screen, recorder: Recorder) -> pygame.Surface:
    """Do what only the window can: pictures, clips, full screen; keep the layout to its size."""
    for want in [w for w in session.wants if w != "quit"]:
        session.wants.remove(want)
        try:
            if want == "picture":
                session.say(f"saved {save_picture(session)}")
            elif want == "session page":
                session.say(f"saved {_session_page(session)}")
            elif want == "clip":
                recorder.toggle()
            elif want == "full screen":
                screen.toggle_full()
        except (InputError, OSError, pygame.error) as problem:
            session.say(str(problem))
    current = pygame.display.get_surface()
    if current.get_size() != (session.layout.window.w, session.layout.window.h):
        session.resize(*current.get_size())
    return current
