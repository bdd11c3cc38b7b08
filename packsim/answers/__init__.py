"""One stage with one can size: every answer about it, as data."""

from packsim.answers.answer import (
    Answer,
    answer_line,
    answer_stage,
    governing_stage,
    stage_and_size,
)
from packsim.answers.stage_pack import clear_headers, lowest_wires_mm, stage_pack, stage_packs
from packsim.answers.tipping import WorstLean
from packsim.answers.worst_can import (
    full_words,
    stage_bands,
    stage_sprays,
    towards_guides,
    worst_can,
)
