"""One stage with one can size: every answer about it, as data."""

from packsim.setup.compose import answer, room_mm
from packsim.setup.nouns import Alignment, Setup, Tipping

__all__ = ["Alignment", "Setup", "Tipping", "answer", "room_mm"]
