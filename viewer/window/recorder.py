"""Films the window while somebody works in it."""

import pygame

from packsim.errors import InputError
from viewer.session.keys import key_label
from viewer.session.save import free_name
from viewer.session.session import Session
from viewer.window.capture import pixels_of
from viewer.window.film import Film


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
        except OSError as problem:
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
