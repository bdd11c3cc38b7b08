"""The sheet of a site visit: what to measure, as a form to print, and as a sheet to type into."""

from collections.abc import Sequence
from typing import Final

from packsim.doubt.action import Action
from packsim.doubt.doubt import Measure
from packsim.errors import whole_percent
from packsim.line import Scenario
from packsim.report.files.csv_tables import csv_text
from packsim.report.page.page_parts import rendered
from packsim.report.page.visit_form import (
    exactly,
    form_parts,
    name_of,
    on_two_sides,
)
from packsim.report.words.display import Display
from packsim.report.words.doubt_words import exact_words
from packsim.report.words.input_words import unit_shown
from packsim.scenario.sheets.asked import Asked

QUESTIONS: Final = (
    ("Cans tipped in a million, by stage, and how they are counted", "goes into [[history]]"),
    ("Where do they tip: left guide, centre, right guide? After a stop or a start?", ""),
    ("Which can sizes come next, and when? Which have gone for good?", "a table [[sizes]] each"),
    ("Who sets the guides, with which tool, how often, and by which written numbers?", ""),
    ("How long does a size change take, and how many cans are lost after it?", ""),
    ("What is done with a tipped can: does it lean, fall through, lie across?", "key tipped"),
    ("What was changed in the last year: mat, wires, nozzles, pumps, speed?", ""),
)
"""What else to ask a plant, and where the answer goes in a scenario."""


def visit_csv(asked: Sequence[Asked], display: Display) -> str:
    """Return the sheet that readings are typed into; `packsim measured` loads it.

    Returns
    -------
    str
        A row for each value, its key first, and how exactly the tools named read it: to be changed
        where that was otherwise. Rows may stay empty; a spreadsheet of any country may save it.
    """
    most = max((one.action.readings for one in asked), default=1)
    readings = [f"reading_{i}" for i in range(1, max(3, most) + 1)]
    header = ["key", "place", "what", "in_file", "unit", *readings]
    header += ["plus_minus", "date", "by", "remarks"]
    blank = [""] * len(readings)
    rows = []
    for one in asked:
        # with its unit it stays a text: some spreadsheets make a date of 1.5
        off, unit = exactly(one, display), unit_shown(one.unit, display)
        off = f"{off} {unit}".strip() if off and one.action.readings == 1 else ""
        known = (one.key, one.place, _what(one), one.in_file, unit)
        rows.append([*known, *blank, off, "", "", ""])
    return csv_text(header, rows)


def _what(one: Asked) -> str:
    choices = one.known.choices
    return f"{name_of(one)}: {' or '.join(choices)}" if choices else one.about


def visit_page(
    scenario: Scenario, asked: Sequence[Asked], measures: Sequence[Measure], display: Display
) -> str:
    """Return the site-visit sheet as one self-contained page to print, two sides at the most.

    Parameters
    ----------
    scenario : Scenario
        The line.
    asked : sequence of Asked
        What to measure, the most worth first: what does not go on two sides is named at the end.
    measures : sequence of Measure
        What each of the actions is worth, and how exactly its inputs must be known.
    display : Display
        Unit system of the boxes.

    Returns
    -------
    str
        HTML with inline style; nothing is fetched from anywhere.
    """
    ranked = list(dict.fromkeys(one.action for one in asked))
    worth = {one.action: one for one in measures}
    texts = {one: _text(one, worth.get(one), scenario, display) for one in ranked}
    kept = on_two_sides(ranked, asked, {one: "".join(said) for one, said in texts.items()})
    groups = {
        caution: [
            (ranked.index(one) + 1, texts[one], form_parts(one, asked, display)) for one in actions
        ]
        for caution, actions in kept.items()
    }
    shown = {one for actions in kept.values() for one in actions}
    return rendered(
        "visit.html",
        display,
        name=scenario.name,
        groups=groups,
        left=[action.name for action in ranked if action not in shown],
        questions=QUESTIONS,
    )


def _text(
    action: Action, worth: Measure | None, scenario: Scenario, display: Display
) -> tuple[str, str, str]:
    """Return what to do; what it takes and gives, with what, what to note; and how exactly."""
    takes = ""
    if worth is not None:
        takes = f" ({worth.minutes:.0f} min, narrows {whole_percent(worth.narrows)})"
    text = f"{takes}. {_sentence(action.tools)}. Write down: {action.write_down}. "
    if action.settled("stages[0].water_in_dome"):
        held = (f"{can.name} {1e-3 * can.dome_volume_mm3:.1f} g" for can in scenario.sizes)
        text += f"A full dome holds: {', '.join(held)}; note which part of it was there. "
    exact = "" if worth is None else exact_words(worth, scenario, display)
    return _sentence(action.name), text, f"Know {exact}." if exact else ""


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
