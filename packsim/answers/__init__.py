"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import Alignment, Answer, Tipping
from packsim.answers.answer_stage import (
    answer_line,
    answer_stage,
    clear_headers,
    lowest_wires_mm,
    stage_balance_rad,
    stage_load,
    stage_pack,
    stage_packs,
    stage_spray,
)
from packsim.answers.tips import Chance, WorstLean, gathered_leans, own_leans, row_chance, towards

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
    "stage_load",
    "stage_pack",
    "stage_packs",
    "stage_spray",
    "towards",
]
