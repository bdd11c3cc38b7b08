"""How every answer changes as one thing about a stage is turned through a range."""

from packsim.sweep.knobs import KNOBS, Knob, knob
from packsim.sweep.run import Sweep, SweepRow, sweep

__all__ = ["KNOBS", "Knob", "Sweep", "SweepRow", "knob", "sweep"]
