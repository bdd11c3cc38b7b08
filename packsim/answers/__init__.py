"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import Alignment, Answer, Tipping
from packsim.answers.answer_stage import answer_line, answer_stage, lowest_wires_mm, stage_pack
from packsim.answers.chance import Chance, row_chance
from packsim.answers.stage_spray import clear_headers, stage_balance_rad, stage_spray
from packsim.answers.worst_lean import WorstLean, gathered_leans, own_leans, towards

__all__ = [
    "Alignment",
    "Answer",
    "Chance",
    "Tipping",
    "WorstLean",
    "answer_line",
    "answer_stage",
    "clear_headers",
    "gathered_leans",
    "lowest_wires_mm",
    "own_leans",
    "row_chance",
    "stage_balance_rad",
    "stage_pack",
    "stage_spray",
    "towards",
]
