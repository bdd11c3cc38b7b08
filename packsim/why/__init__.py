"""Why one stage with one can size is answered as it is: every term behind every number."""

from packsim.why.energy import Energies
from packsim.why.leaning import CanLeans, Rocking
from packsim.why.sprays import HeaderPush, SprayTerms
from packsim.why.why import Reasons, reasons
from packsim.why.wires import WireReasons, WireUse

__all__ = [
    "CanLeans",
    "Energies",
    "HeaderPush",
    "Reasons",
    "Rocking",
    "SprayTerms",
    "WireReasons",
    "WireUse",
    "reasons",
]
