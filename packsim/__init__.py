"""Guide settings, tipping margins and nozzle alignment for beverage-can packs on a washer mat.

The names in ``__init__.pyi`` are the public interface; each is loaded when first used, so that
importing the package stays cheap. Lengths are mm, angles rad, forces N, energies mJ. Results show
themselves in a notebook; `as_json` turns each into plain data.

Examples
--------
>>> from packsim import find_voids, pack_between
>>> pack = pack_between(1391.0, 66.09)
>>> pack.lanes, pack.state, round(pack.slack_mm, 1)
(24, 'slack', 8.5)
"""

from __future__ import annotations

import re
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

_NAMED = Path(__file__).with_name("__init__.pyi").read_text(encoding="utf-8")
_HOMES = {
    name: (module, there)
    for module, there, name in re.findall(r"^from (\S+) import (\w+) as (\w+)$", _NAMED, re.M)
}
"""Module of each public name, and what it is called there."""

__all__ = sorted(_HOMES)

_SHOWN = {
    "packsim.doubt.doubt": ("Doubt",),
    "packsim.headers.check": ("HeaderCheck",),
    "packsim.headers.proposal": ("HeaderDesign",),
    "packsim.headers.shift": ("LineShift",),
    "packsim.look.measure": ("Looked",),
    "packsim.pack.state": ("Pack",),
    "packsim.pack.voids": ("Voids",),
    "packsim.counts.passages": ("Passages",),
    "packsim.report.drawings.drawing": ("Drawing",),
    "packsim.size_change.size_change": ("SizeChange",),
    "packsim.study.study": ("Study",),
    "packsim.sweep.sweep": ("Sweep",),
    "packsim.money.proposal": ("MachineProposal",),
    "packsim.trial.groups": ("TrialFit",),
    "packsim.trial.trial_plan": ("TrialPlan",),
    "packsim.why.why": ("Reasons",),
}
"""Results a notebook shows, by module."""


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'packsim' has no attribute {name!r}"
        raise AttributeError(msg)
    module, there = _HOMES[name]
    value = getattr(import_module(module), there)
    globals()[name] = value
    _show_results()
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


def _show_results() -> None:
    """Let the results that are loaded show themselves; what paints them is loaded when asked.

    The rooms below know nothing of it: the methods a notebook looks for are put on from here.
    """
    for module, names in _SHOWN.items():
        for name in names if module in sys.modules else ():
            drawn = name in ("Pack", "Voids", "Drawing")
            owner = getattr(sys.modules[module], name, None)
            if owner is not None and drawn:
                owner._repr_svg_ = lambda thing: _painted("svg_of", thing)
            if owner is not None and (not drawn or name == "Voids"):
                owner._repr_html_ = lambda thing: _painted("html_of", thing)


def _painted(painter: str, thing: object) -> str:
    text: str = getattr(import_module("packsim.report.page.notebook"), painter)(thing)
    return text
