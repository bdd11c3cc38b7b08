"""Guide settings, tipping margins and nozzle alignment for beverage-can packs on a washer mat.

The names below are the public interface; each is loaded when first used, so that importing the
package stays cheap. Lengths are mm, angles rad, forces N, energies mJ.

Examples
--------
>>> from packsim import find_voids, pack_between
>>> pack = pack_between(1391.0, 66.09)
>>> pack.lanes, pack.state, round(pack.slack_mm, 1)
(24, 'slack', 8.5)
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from packsim.can import Can
    from packsim.catalogue import can_size, custom_can
    from packsim.errors import InputError, PacksimError
    from packsim.line import Scenario
    from packsim.pack.state import Pack
    from packsim.pack.strip import candidate_packs, pack_between
    from packsim.pack.voids import Voids, find_voids
    from packsim.scenario import load_scenario, parse_scenario
    from packsim.study import Study, study_line

__all__ = [
    "Can",
    "InputError",
    "Pack",
    "PacksimError",
    "Scenario",
    "Study",
    "Voids",
    "can_size",
    "candidate_packs",
    "custom_can",
    "find_voids",
    "load_scenario",
    "pack_between",
    "parse_scenario",
    "study_line",
]

_HOMES = {
    "Can": "packsim.can",
    "InputError": "packsim.errors",
    "Pack": "packsim.pack.state",
    "PacksimError": "packsim.errors",
    "Scenario": "packsim.line",
    "Study": "packsim.study",
    "Voids": "packsim.pack.voids",
    "can_size": "packsim.catalogue",
    "candidate_packs": "packsim.pack.strip",
    "custom_can": "packsim.catalogue",
    "find_voids": "packsim.pack.voids",
    "load_scenario": "packsim.scenario",
    "pack_between": "packsim.pack.strip",
    "parse_scenario": "packsim.scenario",
    "study_line": "packsim.study",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'packsim' has no attribute {name!r}"
        raise AttributeError(msg)
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
