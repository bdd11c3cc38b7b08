"""The ``packsim-viewer`` command: a window and its loop, or a capture without one."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")

import pygame

from packsim.errors import InputError, PacksimError
from viewer.session.keys import key_label
from viewer.session.open import open_session
from viewer.session.options import read_options
from viewer.views.overlays import film_mark
from viewer.views.whole_window import whole_window
from viewer.window.capture import capture, pixels_of, save_picture
from viewer.window.events import Hand, handle_all
from viewer.window.film import Film
from viewer.window.paint import Painter

if TYPE_CHECKING:
    import argparse

    from viewer.session.session import Session

__all__ = ["main", "run"]

FRAMES_PER_S = 60
"""The loop draws at most so often."""


def main(arguments: list[str] | None = None) -> None:
    """Run the command; 0 when it ends well, 2 for bad input, said in one line."""
    try:
        options = read_options(sys.argv[1:] if arguments is None else arguments)
        session = open_session(options)
        if options.capture is not None:
            _capture(session, options)
        else:
            run(session)
    except InputError as error:
        sys.stderr.write(f"packsim-viewer: {' '.join(str(error).split())}\n")
        sys.exit(2)
    except (PacksimError, pygame.error) as error:
        sys.stderr.write(f"packsim-viewer: {error}\n")
        sys.exit(1)
    except KeyboardInterrupt:
        sys.exit(130)


def _capture(session: Session, options: argparse.Namespace) -> None:
    session.overlay = ""
    session.step(round(options.after / session.clock.dt_s))
    if options.look == "worst":  # the worst by then, not at the start
        session.act("worst can")
        session.camera = session.camera.zoomed(4.0)
    path = capture(
        session,
        options.capture,
        seconds=options.seconds,
        fps=options.fps,
        replace_old=options.replace,
    )
    sys.stdout.write(f"{path}\n")


def run(
    session: Session,
    *,
    max_frames: int | None = None,
    clock: Callable[[], float] | None = None,
    each_frame: Callable[[int], None] | None = None,
) -> Session:
    """Open a window and run until the session wants to quit.

    Parameters
    ----------
    session : Session
        What to show.
    max_frames : int, optional
        End after so many pictures.
    clock : callable, optional
        Seconds since some beginning; pygame's own clock by default.
    each_frame : callable, optional
        Called with the number of each picture before it is drawn.

    Returns
    -------
    Session
        The same, as it ended.
    """
    pygame.display.init()
    pygame.font.init()
    pygame.key.set_repeat(350, 45)
    window = session.layout.window
    surface = pygame.display.set_mode((window.w, window.h), pygame.RESIZABLE)
    pygame.display.set_caption(f"packsim viewer: {session.pack.feed.setting.scenario.name}")
    painter, hand, camera = Painter(session.layout.scale), Hand(), _Camera(session)
    ticker = pygame.time.Clock()
    scene = whole_window(session)
    done = 0
    try:
        while "quit" not in session.wants and (max_frames is None or done < max_frames):
            if each_frame is not None:
                each_frame(done)
            handle_all(session, hand, pygame.event.get(), scene)
            session.tick(clock() if clock is not None else pygame.time.get_ticks() / 1000.0)
            surface = _do_wants(session, surface, camera)
            painter.rescale(session.layout.scale)
            scene = whole_window(session)
            painter.paint(surface, scene)
            camera.take(surface)
            painter.paint(surface, film_mark(session))
            pygame.display.flip()
            done += 1
            if clock is None:
                ticker.tick(FRAMES_PER_S)
    finally:
        camera.stop()
        pygame.display.quit()
    return session


class _Camera:
    """Films the window while the session asks for it."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.film: Film | None = None
        self.began_s = 0.0

    def toggle(self) -> None:
        """Begin a clip, or end and keep the one that runs."""
        if self.film is not None:
            self.stop()
            return
        path = self.session.clip_name()
        self.film, self.began_s = Film(path), self.session.now_s
        self.session.filmed_s = 0.0
        self.session.say(f"filming; {key_label('clip')} ends and saves it")

    def take(self, surface: pygame.Surface) -> None:
        """Add what was painted, if a picture is due; another window size ends the clip."""
        if self.film is None:
            return
        if self.film.size_px not in (None, surface.get_size()):
            self.stop()
            return
        passed = self.session.now_s - self.began_s
        self.film.add_when_due(pixels_of(surface), passed)
        self.session.filmed_s = passed

    def stop(self) -> None:
        """Keep the clip that runs, if one does."""
        film, self.film, self.session.filmed_s = self.film, None, None
        if film is None:
            return
        path = film.keep()
        said = "nothing was filmed" if path is None else f"saved {path}, {film.seconds:.1f} s"
        self.session.say(said)


def _do_wants(session: Session, surface: pygame.Surface, camera: _Camera) -> pygame.Surface:
    """Do what only the window can: pictures, clips, full screen; keep the layout to its size."""
    for want in [w for w in session.wants if w != "quit"]:
        session.wants.remove(want)
        try:
            if want == "picture":
                session.say(f"saved {save_picture(session)}")
            elif want == "clip":
                camera.toggle()
            elif want == "full screen":
                pygame.display.toggle_fullscreen()
        except (InputError, OSError, pygame.error) as problem:
            session.say(str(problem))
    current = pygame.display.get_surface() or surface
    if current.get_size() != (session.layout.window.w, session.layout.window.h):
        session.resize(*current.get_size())
    return current
