"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import Answer
from packsim.answers.answer_stage import (
    answer_line,
    answer_stage,
    governing_stage,
    lowest_wires_mm,
    sprayed_lines_mm,
    stage_and_size,
    stage_pack,
    stage_packs,
)
from packsim.answers.tips import WorstLean, gathered_leans, own_leans
from packsim.answers.worst_can import (
    clear_headers,
    full_words,
    rest_share,
    stage_sprays,
    towards_guides,
    worst_can,
)
