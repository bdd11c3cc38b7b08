"""What is said where a verdict may be another one: in what share it stands, and what to measure."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from packsim.answers import Answer
from packsim.doubt.confidence import OPEN_BELOW
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.standing import Standing, standing
from packsim.findings.finding import Finding, Values, tell
from packsim.line import Scenario
from packsim.width.slack_terms import CAN_TOLERANCE

VISIT: Final = "packsim visit FILE -o visit.html"
"""The command that makes the sheet of what to measure."""

_ANY: Final = "what packsim doubt lists first"
_BODIES: Final = "caliper ten bodies"
_RIGHT: Final = {
    "close": "closing the guides is right",
    "open": "opening the guides is right",
    "stays": "leaving the guides is right",
    "no width": "no width is safe",
}


def sure_enough(scenario: Scenario, answer: Answer) -> bool:
    """Whether 19 in 20 of the cases that are possible want the same of the guides."""
    found = standing(scenario, answer.stage, answer.size)
    return found is None or found.sure.share_by_move[wanted(answer)] >= OPEN_BELOW


def measured_first(scenario: Scenario, answer: Answer, said: Finding) -> Finding:
    """Return a finding that moves guides, with what to measure before where that is not sure."""
    found, move = standing(scenario, answer.stage, answer.size), wanted(answer)
    if found is None or sure_enough(scenario, answer):
        return cans_first(scenario, answer, said)
    measure = found.first or _ANY
    what, values = _in_words(found, answer)
    values["right_share"] = found.sure.share_by_move[move]
    return _before(
        said,
        measure,
        f"{what}, and {_RIGHT[move]} in {{right_share}}",
        f"{'can jam, ' * (move == 'open')}{answer.tipping.verdict} in {{sure_share}}: "
        f"{_short(measure)}",
        values,
    )


def cans_first(scenario: Scenario, answer: Answer, said: Finding) -> Finding:
    """Return a finding without a safe width, with bodies to measure before others are bought.

    As it is where the tolerance of the cans is no part of it, or somebody gave it.
    """
    largest = max(answer.budget.terms, key=lambda term: term.range_mm).name
    parts = {largest, *(one.term for one in answer.window.attack)}
    if not answer.window.empty or CAN_TOLERANCE not in parts:
        return said
    if not _tolerance_from_afar(scenario, answer.size):
        return said
    why = "nobody has measured how far the cans differ"
    return _before(said, _BODIES, why, f"{_short(_BODIES)}: spread unknown", {})


def in_doubt(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a can that is held as the line is taken to be, but may well not be."""
    if answer.tipping.verdict != "held" or wanted(answer) != "stays":
        return None
    found = standing(scenario, answer.stage, answer.size)
    if found is None or not found.sure.open:
        return None
    what, values = _in_words(found, answer)
    (other, share), *_ = found.sure.others
    measure = found.first or _ANY
    return tell(
        answer,
        "watch",
        f"as taken no can tips, but that is not sure: {what}, {other} in {{other_share}}",
        f"measure first: {measure}",
        VISIT,
        f"held in {{sure_share}}: {_short(measure)}",
        **values,
        other_share=share,
    )


def wanted(answer: Answer) -> str:
    """Return what the guides want as all is taken: one of `packsim.doubt.confidence.MOVES`."""
    if answer.window.empty or not answer.pack.fits:
        return "no width"
    place = answer.window.verdict(answer.pack.clear_width_mm)
    return {"too loose": "close", "too tight": "open"}.get(place, "stays")


def _in_words(found: Standing, answer: Answer) -> tuple[str, dict[str, float | str]]:
    said = f"{answer.tipping.verdict} in {{sure_share}} of what is possible"
    return said, {"sure_share": found.sure.share}


def _short(measure: str) -> str:
    return next((one.short for one in ACTIONS if one.name == measure), "measure first")


def _before(said: Finding, measure: str, why: str, brief: str, values: Values) -> Finding:
    return replace(
        said,
        what_text=f"{said.what_text}; {why}",
        do_text=f"measure first: {measure}; if all is as taken: {said.do_text}",
        command_text=VISIT,
        values=({**said.values[0], **values},),
        brief_text=brief,
    )


def _tolerance_from_afar(scenario: Scenario, size: str) -> bool:
    """Whether the tolerance of a size comes from a catalogue, or from nobody."""
    place = f"sizes.{scenario.sizes.index(scenario.size(size))}.diameter_tol_mm"
    return any(
        place in one.places and one.kind in ("catalogue", "assumed") for one in scenario.ranges
    )
