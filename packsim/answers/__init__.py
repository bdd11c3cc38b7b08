"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import Alignment, Answer, Tipping
from packsim.answers.answer_stage import answer_stage, lowest_wires_mm, room_mm
from packsim.answers.chance import Chance, row_chance
from packsim.answers.stage_spray import clear_headers, stage_spray, worst_balance_rad
from packsim.answers.worst_lean import WorstLean, gathered_leans, own_leans, towards

__all__ = [
    "Alignment",
    "Answer",
    "Chance",
    "Tipping",
    "WorstLean",
    "answer_stage",
    "clear_headers",
    "gathered_leans",
    "lowest_wires_mm",
    "own_leans",
    "room_mm",
    "row_chance",
    "stage_spray",
    "towards",
    "worst_balance_rad",
]
