"""How every answer changes as one thing about a stage is turned through a range."""

from packsim.line.knobs import KNOBS, Knob, knob
from packsim.sweep.sweep import Sweep, SweepRow, governing_stage, stage_and_size, sweep

__all__ = [
    "KNOBS",
    "Knob",
    "Sweep",
    "SweepRow",
    "governing_stage",
    "knob",
    "stage_and_size",
    "sweep",
]
