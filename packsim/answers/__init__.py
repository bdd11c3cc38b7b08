"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import Answer
from packsim.answers.answer_stage import (
    answer_line,
    answer_stage,
    clear_headers,
    governing_stage,
    lowest_wires_mm,
    stage_and_size,
    stage_balance_rad,
    stage_load,
    stage_pack,
    stage_packs,
    stage_spray,
)
from packsim.answers.tips import WorstLean, gathered_leans, own_leans, row_chance
