"""One stage with one can size: every answer about it, as data."""

from packsim.setup.chance import Chance, row_chance
from packsim.setup.compose import answer, lowest_wires_mm, room_mm
from packsim.setup.nouns import Alignment, Setup, Tipping
from packsim.setup.on_track import loaded_track, track_under
from packsim.setup.own import WorstLean, gathered_leans, own_leans, towards
from packsim.setup.sprayed import clear_headers, stage_spray, worst_balance_rad

__all__ = [
    "Alignment",
    "Chance",
    "Setup",
    "Tipping",
    "WorstLean",
    "answer",
    "clear_headers",
    "gathered_leans",
    "loaded_track",
    "lowest_wires_mm",
    "own_leans",
    "room_mm",
    "row_chance",
    "stage_spray",
    "towards",
    "track_under",
    "worst_balance_rad",
]
