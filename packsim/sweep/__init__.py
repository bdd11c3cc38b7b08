"""How every answer changes as one thing about a stage is turned through a range."""

from packsim.line.knobs import KNOBS, knob
from packsim.sweep.sweep import Sweep, sweep
