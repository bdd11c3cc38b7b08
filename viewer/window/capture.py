"""Pictures and films, without a screen or of the window while somebody works in it.

Without a screen the same seed gives the same pixels on one machine.
"""

import io
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from itertools import count
from pathlib import Path
from signal import SIGTERM

import numpy as np
import pygame
from numpy.typing import NDArray

from packsim.errors import InputError
from packsim.report.files.stamp import Stamp, stamp_of, stamped
from packsim.report.words.numbers import thousands
from packsim.write import check_target, clear_unfinished, unfinished, write_bytes
from viewer.screen.drawing import Drawing
from viewer.session.actions import tick
from viewer.session.changes import free_name
from viewer.session.keys import key_label
from viewer.session.playback import clock_words
from viewer.session.session import Session
from viewer.session.shown import ShownPack
from viewer.views.whole_window import whole_window
from viewer.window.film import Film
from viewer.window.hand import Hand, pointer
from viewer.window.paint import Painter

KINDS = (".png", ".gif", ".mp4")
"""What a capture can be, besides a folder of numbered pictures."""


def picture_of(session: Session) -> pygame.Surface:
    """Paint the session as it is now on a new surface of its window's size."""
    surface = _blank(session)
    Painter(session.layout.scale, session.palette).paint(surface, whole_window(session))
    return surface


def _blank(session: Session) -> pygame.Surface:
    window = session.layout.window
    return pygame.Surface((window.w, window.h), 0, 32)


def png_bytes(surface: pygame.Surface) -> bytes:
    """Return a surface as a PNG file."""
    stream = io.BytesIO()
    pygame.image.save(surface, stream, "picture.png")
    return stream.getvalue()


def pixels_of(surface: pygame.Surface) -> NDArray[np.uint8]:
    """Return the colours of a surface, shape (height, width, 3)."""
    wide, tall = surface.get_size()
    return np.frombuffer(pygame.image.tobytes(surface, "RGB"), np.uint8).reshape(tall, wide, 3)


def stamp_of_session(session: Session, pack: ShownPack) -> Stamp:
    """Return where a picture or a page of a session comes from, by the line of one of its packs."""
    scenario = pack.source.loaded.scenario
    return stamp_of(f"packsim-viewer {session.stem}", scenario, seed=session.seed)


def save_picture(session: Session) -> Path:
    """Save the picture as it is now under a name not yet taken."""
    path, png = free_name(session.folder, session.stem, ".png"), png_bytes(picture_of(session))
    write_bytes(path, stamped(png, ".png", stamp_of_session(session, session.pack)))
    session.pictures.append((picture_words(session), png))
    return path


def picture_words(session: Session) -> str:
    """Say when a picture was taken, of what, and how many cans had tipped by then."""
    pack = session.watched
    source = pack.source
    stage = source.line_map.stages[session.stage]
    tipped = thousands(int(source.tips.sum()))
    at = clock_words(source.frame.time_s)
    return f"{at}, {source.loaded.size}, {stage}{session.name_of(pack)}: {tipped} tipped"


def frames_of(
    session: Session, seconds: float | None, fps: float, hand: Hand | None = None
) -> Iterator[pygame.Surface]:
    """Let a session run on a clock of its own and paint it at even times, on one surface.

    Without ``seconds`` the lesson is played to its end. The session's cautions are closed; their
    line stays in every picture. A ``hand`` drags something on the way. A session that wants to quit
    ends with `SystemExit` before its next picture.
    """
    session.overlay = ""
    session.clock = replace(session.clock, seen_s=None)
    painter = Painter(session.layout.scale, session.palette)
    surface = _blank(session)
    play = session.lesson
    drawing = Drawing() if hand is None else whole_window(session)
    for i in count():
        if "quit" in session.wants:
            raise SystemExit(128 + SIGTERM)
        if hand is not None:
            hand.move(session, i / fps, drawing)
        tick(session, i / fps, most=None)
        drawing = whole_window(session)
        painter.paint(surface, drawing)
        if hand is not None:
            painter.paint(surface, pointer(session))
        yield surface
        if seconds is not None and i + 1 >= round(seconds * fps):
            return
        if seconds is None and (play is None or play.filmed):
            return


def capture(
    session: Session,
    out: Path,
    *,
    seconds: float | None,
    fps: float,
    hand: Hand | None = None,
    replace_old: bool = False,
) -> Path:
    """Write a picture (.png), a film (.gif, .mp4), or a folder of numbered pictures.

    Without ``seconds`` it lasts as long as the session's lesson. A picture shows the end of the
    span; a name without an ending is a folder. Returns ``out``,
    complete: everything is written beside it first and then renamed. Raises `InputError` if ``out``
    exists, its folder does not, or its ending is another.
    """
    frames = frames_of(session, seconds, fps, hand)
    kind = out.suffix.lower()
    if kind not in ("", *KINDS):
        raise InputError("--capture", out, "a name that ends in .png, .gif or .mp4, or a folder")
    if kind == "":
        return _folder(out, frames, replace_old=replace_old)
    check_target(out, replace=replace_old)
    if kind in (".mp4", ".gif"):
        with closing(Film(out, fps, replace=replace_old, palette=session.palette)) as film:
            for surface in frames:
                film.add(pixels_of(surface))
            film.keep()
    else:
        *_, last = frames
        data = stamped(png_bytes(last), ".png", stamp_of_session(session, session.pack))
        write_bytes(out, data, replace=replace_old)
    return out


def _folder(out: Path, frames: Iterator[pygame.Surface], *, replace_old: bool) -> Path:
    if out.exists() and (not replace_old or not out.is_dir()):
        raise InputError("--capture", out, "a new folder, or --replace for an old one")
    if not out.parent.is_dir():
        raise InputError("--capture", out, "a folder whose parent exists")
    old = list(out.iterdir()) if out.is_dir() else []
    if any(not _numbered(path) for path in old):
        raise InputError("--capture", out, "a folder that holds nothing but captured pictures")
    clear_unfinished(out.parent)
    work = Path(tempfile.mkdtemp(prefix=unfinished(), dir=out.parent))
    try:
        for i, surface in enumerate(frames):
            (work / f"frame-{i:05d}.png").write_bytes(png_bytes(surface))
        work.chmod(0o755)
        for path in old:
            path.unlink()
        if out.is_dir():
            out.rmdir()
        work.rename(out)
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return out


def _numbered(path: Path) -> bool:
    return path.suffix == ".png" and path.name.startswith("frame-") and path.is_file()


class Recorder:
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
        path = free_name(self.session.folder, self.session.stem, ".mp4")
        self.film, self.began_s = Film(path), self.session.clock.shown_s
        self.session.filmed_s = 0.0
        self.session.say(f"filming; {key_label('clip')} ends and saves it")

    def take(self, surface: pygame.Surface) -> None:
        """Add what was painted, if a picture is due; another window size ends the clip."""
        if self.film is None:
            return
        if self.film.size_px not in (None, surface.get_size()):
            self.stop()
            return
        passed = self.session.clock.shown_s - self.began_s
        try:
            self.film.add_when_due(pixels_of(surface), passed)
        except (InputError, OSError) as problem:
            self._give_up(problem)
        else:
            self.session.filmed_s = passed

    def stop(self) -> None:
        """Keep the clip that runs, if one does."""
        film, self.film, self.session.filmed_s = self.film, None, None
        if film is None:
            return
        try:
            path = film.keep()
        except (InputError, OSError) as problem:
            self.film = film
            self._give_up(problem)
            return
        said = "nothing was filmed" if path is None else f"saved {path}, {film.seconds:.1f} s"
        self.session.say(said)

    def _give_up(self, problem: Exception) -> None:
        """Drop the clip that runs, and say why."""
        film, self.film, self.session.filmed_s = self.film, None, None
        if film is not None:
            film.close()
        self.session.say(f"no clip: {problem}")
