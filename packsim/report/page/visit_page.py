"""The sheet of a site visit: what to measure, as a form to print, and as a sheet to type into."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any, Final

from packsim.doubt.action import Action
from packsim.line import Scenario
from packsim.report.files.csv_tables import csv_text
from packsim.report.page.page_parts import rendered
from packsim.report.words.display import Display
from packsim.report.words.input_words import as_shown, unit_words
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

_PAPER_MM: Final = 2 * 245.0
"""What two pages hold on the shorter paper, Letter, with some room for what must not be parted."""

_HEAD_MM, _GROUP_MM, _ACTION_MM, _ROW_MM, _HEADS_MM, _QUESTION_MM = (
    42.0,
    11.0,
    10.0,
    10.0,
    8.0,
    11.0,
)
"""What the parts of the form take on paper, measured on a print of it."""

_WIDEST: Final = 7
"""Most boxes beside a place."""


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
        off, unit = _exactly(one, display), _unit(one, display)
        off = f"{off} {unit}".strip() if off and one.action.readings == 1 else ""
        known = (one.key, one.place, _what(one), one.in_file, unit)
        rows.append([*known, *blank, off, "", "", ""])
    return csv_text(header, rows)


def _what(one: Asked) -> str:
    return f"{one.name}: {' or '.join(one.known.choices)}" if one.known.choices else one.about


def _unit(one: Asked, display: Display) -> str:
    return as_shown(0.0, one.unit, display)[1]


def visit_page(scenario: Scenario, asked: Sequence[Asked], display: Display) -> str:
    """Return the site-visit sheet as one self-contained page to print, two sides at the most.

    Parameters
    ----------
    scenario : Scenario
        The line.
    asked : sequence of Asked
        What to measure, the most worth first: what does not go on two sides is named at the end.
    display : Display
        Unit system of the boxes.

    Returns
    -------
    str
        HTML with inline style; nothing is fetched from anywhere.
    """
    ranked = list(dict.fromkeys(one.action for one in asked))
    kept = _that_fit(ranked, asked)
    groups = [
        (caution, [(ranked.index(one) + 1, one, _parts(one, asked, display)) for one in actions])
        for caution, actions in _by_caution(kept)
    ]
    return rendered(
        "visit.html",
        display,
        name=scenario.name,
        groups=groups,
        left=[action.name for action in ranked if action not in kept],
        questions=QUESTIONS,
    )


def _by_caution(actions: Sequence[Action]) -> list[tuple[str, list[Action]]]:
    """Return actions that are done in the same state of the machine together, best first."""
    groups: dict[str, list[Action]] = {}
    for action in actions:
        groups.setdefault(action.caution, []).append(action)
    return list(groups.items())


def _that_fit(actions: Sequence[Action], asked: Sequence[Asked]) -> list[Action]:
    """Return the first actions that go on two pages together with all the rest."""
    kept: list[Action] = []
    free = _PAPER_MM - _HEAD_MM - _QUESTION_MM * (len(QUESTIONS) + 1)
    for action in actions:
        needs = _ACTION_MM + sum(
            _HEADS_MM + _ROW_MM * len(part["rows"]) for part in _parts(action, asked, Display())
        )
        needs += _GROUP_MM if action.caution not in {one.caution for one in kept} else 0.0
        if needs <= free:
            kept.append(action)
            free -= needs
    return kept


def _parts(action: Action, asked: Sequence[Asked], display: Display) -> list[dict[str, Any]]:
    """Return the tables of boxes of one action: heads and rows, each a place and its boxes."""
    mine = [one for one in asked if one.action is action]
    if action.readings > 1:
        rows = [
            {"cells": [(f"{one.place}: {_head(one, display)}", [_was(one, display)] + [""] * 9)]}
            for one in mine
        ]
        return [{"heads": [], "rows": rows, "across": 1}] if rows else []
    return [_table(part, display) for part in _alike(mine)]


def _alike(asked: Sequence[Asked]) -> list[list[Asked]]:
    """Return values by what they belong to: stages, headers, or the line as a whole."""

    def sort(one: Asked) -> int:
        whole = one.place in ("line", "every stage")
        return 0 if whole else 2 if "headers" in one.key else 1

    return [list(part) for _, part in groupby(sorted(asked, key=sort), key=sort)]


def _table(asked: Sequence[Asked], display: Display) -> dict[str, Any]:
    """Return places with their boxes, one column for each thing, two places in a row if narrow."""
    heads = list(dict.fromkeys(_head(one, display) for one in asked))[:_WIDEST]
    places: dict[str, dict[str, str]] = {}
    for one in asked:
        places.setdefault(one.place, {})[_head(one, display)] = _was(one, display)
    cells = [(place, [was.get(head) for head in heads]) for place, was in places.items()]
    across = 2 if len(heads) <= 2 and len(cells) > 1 else 1
    rows = [{"cells": cells[i : i + across]} for i in range(0, len(cells), across)]
    return {"heads": heads, "rows": rows, "across": across}


def _head(one: Asked, display: Display) -> str:
    """Return what is written down, its unit, and how exactly."""
    if one.known.choices:
        return f"{one.name}: {' / '.join(one.known.choices)}"
    unit = _unit(one, display)
    exact = _exactly(one, display)
    exact = f" ±{exact}" if exact else ""
    return f"{one.name}{', ' if unit else ''}{unit_words(unit)}{exact}"


def _exactly(one: Asked, display: Display) -> str:
    """Return how exactly a value can be read, a number in its unit; empty for what is seen."""
    off = _number(one.within, one, display) - _number(0.0, one, display)
    return f"{off:.{2 if _unit(one, display) == one.unit else 1}g}" if off > 0.0 else ""


def _was(one: Asked, display: Display) -> str:
    """Return what the file takes it as, small in the box."""
    if isinstance(one.now, str):
        return one.now
    return f"{_number(one.now, one, display):.{5 if display.metric else 4}g}"


def _number(value: float, one: Asked, display: Display) -> float:
    return as_shown(value, one.unit, display)[0]
