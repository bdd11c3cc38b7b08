"""The window, pictures and films: the only room that knows pygame, PIL and imageio."""

import os
import sys
from importlib import import_module

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_WINDOWS_DPI_AWARENESS", "permonitorv2")

_HEAVY = "pkg_resources"
"""Pygame reads its own files through it where there is one, and as well without, 60 ms sooner."""

if _HEAVY not in sys.modules:
    sys.modules[_HEAVY] = None  # type: ignore[assignment]
    try:
        import_module("pygame")
    finally:
        del sys.modules[_HEAVY]
