"""The display: opened where somebody sees it, full screen and back to the window as it was."""

import os

import pygame
from pygame._sdl2.video import Window

from packsim.errors import InputError

_DRIVER = "SDL_VIDEODRIVER"
_UNSEEN = "offscreen", "dummy"


class Screen:
    """The window on the display; ``kept`` is its place and size [px] while it is full screen."""

    def __init__(self) -> None:
        """Open the display; `InputError` where a window would be seen by nobody.

        Who asks for a driver by ``SDL_VIDEODRIVER`` gets it.
        """
        self.kept: tuple[int, int, int, int] | None = None
        needed = "one for the window, or --capture OUT to make pictures without it"
        try:
            pygame.display.init()
        except pygame.error as problem:
            raise InputError("screen", f"none ({problem})", needed) from None
        if pygame.display.get_driver() in _UNSEEN and not os.environ.get(_DRIVER):
            pygame.display.quit()
            raise InputError("screen", "none", needed)

    def show(self, wide: int, tall: int) -> pygame.Surface:
        """Show a window of a size [px], or of what the screen has room for."""
        if pygame.display.get_driver() not in _UNSEEN:
            room = pygame.display.get_desktop_sizes()[0]
            wide, tall = min(wide, room[0]), min(tall, room[1])
        return pygame.display.set_mode((wide, tall), pygame.RESIZABLE)

    def toggle_full(self) -> None:
        """Fill the screen, or go back to the window, where it was and whole on the screen."""
        room = pygame.display.get_desktop_sizes()[0]
        if self.kept is None:
            now = *_place(), *pygame.display.get_window_size()
            pygame.display.set_mode(room, pygame.FULLSCREEN)
            self.kept = now
            return
        (x, y, wide, tall), self.kept = self.kept, None
        back = self.show(wide, tall).get_size()
        inside = (max(0, min(at, room[i] - back[i])) for i, at in enumerate((x, y)))
        Window.from_display_module().position = tuple(inside)


def _place() -> tuple[int, int]:
    """Return where the window is on the desktop [px]."""
    at = Window.from_display_module().position
    return at if isinstance(at, tuple) else (0, 0)
