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
        self._window: Window | None = None
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
        return self._set((wide, tall), pygame.RESIZABLE)

    def toggle_full(self) -> None:
        """Fill the screen, or go back to the window, where it was and whole on the screen."""
        room = pygame.display.get_desktop_sizes()[0]
        if self.kept is None:
            now = *self._place(), *pygame.display.get_window_size()
            self._set(room, pygame.FULLSCREEN)
            self.kept = now
            return
        (x, y, wide, tall), self.kept = self.kept, None
        back = self.show(wide, tall).get_size()
        inside = (max(0, min(at, room[i] - back[i])) for i, at in enumerate((x, y)))
        if self._window is not None:
            self._window.position = tuple(inside)

    def _set(self, size: tuple[int, int], flags: int) -> pygame.Surface:
        surface = pygame.display.set_mode(size, flags)
        # kept as long as the window: pygame hands it out with every later event without asking
        # whether it is still there, and what has been put in its place is broken by that
        self._window = Window.from_display_module()
        return surface

    def _place(self) -> tuple[int, int]:
        """Return where the window is on the desktop [px]."""
        at = (0, 0) if self._window is None else self._window.position
        return at if isinstance(at, tuple) else (0, 0)
