"""Guide settings, tipping margins and nozzle alignment for beverage-can packs on a washer mat.

The names below are the public interface; each is loaded when first used, so that importing the
package stays cheap. Lengths are mm, angles rad, forces N, energies mJ. Results show themselves in
a notebook; `as_json` turns each into plain data.

Examples
--------
>>> from packsim import find_voids, pack_between
>>> pack = pack_between(1391.0, 66.09)
>>> pack.lanes, pack.state, round(pack.slack_mm, 1)
(24, 'slack', 8.5)
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from packsim.answers import answer_stage
    from packsim.answers.mat_heat import oven_heat_rows as compare_mats
    from packsim.can import Can
    from packsim.catalogue import can_size, catalogue_sizes, custom_can
    from packsim.chance import chance_of
    from packsim.counts.order import Order as RunOrder
    from packsim.errors import InputError, PacksimError
    from packsim.headers import advise_pitch, check_headers, find_shifts
    from packsim.line import Scenario
    from packsim.pack.state import Pack
    from packsim.pack.strip import candidate_packs, pack_between
    from packsim.pack.voids import Voids, find_voids
    from packsim.report.drawings.elevation_drawing import elevation_drawing as draw_elevation
    from packsim.report.drawings.plan_drawing import plan_drawing as draw_plan
    from packsim.report.files.as_json import as_json
    from packsim.report.page.page import study_page as make_page
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
    from packsim.scenario.trial_file import load_trials
    from packsim.size_change import apply_change, plan_change
    from packsim.study import Study, study_line
    from packsim.sweep import sweep as sweep_stage
    from packsim.trial import fit_trials, plan_trial, predict_fitted
    from packsim.trial import spoilage_change as compare_spoilage
    from packsim.why import reasons as explain_stage

_HOMES = {
    "Can": "packsim.can",
    "Display": "packsim.report.words.display",
    "InputError": "packsim.errors",
    "Pack": "packsim.pack.state",
    "PacksimError": "packsim.errors",
    "RunOrder": "packsim.counts.order:Order",
    "Scenario": "packsim.line",
    "Study": "packsim.study",
    "Voids": "packsim.pack.voids",
    "advise_pitch": "packsim.headers",
    "answer_stage": "packsim.answers",
    "apply_change": "packsim.size_change",
    "as_json": "packsim.report.files.as_json",
    "can_size": "packsim.catalogue",
    "candidate_packs": "packsim.pack.strip",
    "catalogue_sizes": "packsim.catalogue",
    "chance_of": "packsim.chance",
    "check_headers": "packsim.headers",
    "compare_mats": "packsim.answers.mat_heat:oven_heat_rows",
    "compare_spoilage": "packsim.trial:spoilage_change",
    "custom_can": "packsim.catalogue",
    "draw_elevation": "packsim.report.drawings.elevation_drawing:elevation_drawing",
    "draw_plan": "packsim.report.drawings.plan_drawing:plan_drawing",
    "explain_stage": "packsim.why:reasons",
    "find_shifts": "packsim.headers",
    "find_voids": "packsim.pack.voids",
    "fit_trials": "packsim.trial",
    "load_scenario": "packsim.scenario",
    "load_trials": "packsim.scenario.trial_file",
    "make_page": "packsim.report.page.page:study_page",
    "pack_between": "packsim.pack.strip",
    "parse_scenario": "packsim.scenario",
    "plan_change": "packsim.size_change",
    "plan_trial": "packsim.trial",
    "predict_fitted": "packsim.trial",
    "scenario_to_toml": "packsim.scenario",
    "study_line": "packsim.study",
    "sweep_stage": "packsim.sweep:sweep",
}
"""Module of each public name, and what it is called there where that differs."""

__all__ = [
    "Can",
    "Display",
    "InputError",
    "Pack",
    "PacksimError",
    "RunOrder",
    "Scenario",
    "Study",
    "Voids",
    "advise_pitch",
    "answer_stage",
    "apply_change",
    "as_json",
    "can_size",
    "candidate_packs",
    "catalogue_sizes",
    "chance_of",
    "check_headers",
    "compare_mats",
    "compare_spoilage",
    "custom_can",
    "draw_elevation",
    "draw_plan",
    "explain_stage",
    "find_shifts",
    "find_voids",
    "fit_trials",
    "load_scenario",
    "load_trials",
    "make_page",
    "pack_between",
    "parse_scenario",
    "plan_change",
    "plan_trial",
    "predict_fitted",
    "scenario_to_toml",
    "study_line",
    "sweep_stage",
]

_SHOWN = {
    "packsim.headers.check": ("HeaderCheck",),
    "packsim.headers.pitch_advice": ("PitchAdvice",),
    "packsim.headers.shift": ("LineShift",),
    "packsim.pack.state": ("Pack",),
    "packsim.pack.voids": ("Voids",),
    "packsim.counts.passages": ("Passages",),
    "packsim.report.drawings.drawing": ("Drawing",),
    "packsim.size_change.size_change": ("SizeChange",),
    "packsim.study.study": ("Study",),
    "packsim.sweep.sweep": ("Sweep",),
    "packsim.trial.cost": ("SpoilageChange",),
    "packsim.trial.groups": ("TrialFit",),
    "packsim.trial.trial_plan": ("TrialPlan",),
    "packsim.why.why": ("Reasons",),
}
"""Results a notebook shows, by module."""


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        msg = f"module 'packsim' has no attribute {name!r}"
        raise AttributeError(msg)
    module, _, there = _HOMES[name].partition(":")
    value = getattr(import_module(module), there or name)
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
