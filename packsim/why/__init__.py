"""Why one stage with one can size is answered as it is: every term behind every number."""

from packsim.why.leaning import CanLeans, Energies, Rocking
from packsim.why.sprays import HeaderPush, SprayTerms
from packsim.why.why import Reasons, WireReasons, WireUse, reasons

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
