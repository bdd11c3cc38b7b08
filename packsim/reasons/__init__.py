"""Why one stage with one can size is answered as it is: every term behind every number."""

from packsim.reasons.energy import Energies
from packsim.reasons.leaning import CanLeans, Rocking
from packsim.reasons.plain import reasons_json
from packsim.reasons.run import Reasons, reasons
from packsim.reasons.sprays import HeaderPush, SprayTerms
from packsim.reasons.wires import WireDutyAt, WireReasons

__all__ = [
    "CanLeans",
    "Energies",
    "HeaderPush",
    "Reasons",
    "Rocking",
    "SprayTerms",
    "WireDutyAt",
    "WireReasons",
    "reasons",
    "reasons_json",
]
