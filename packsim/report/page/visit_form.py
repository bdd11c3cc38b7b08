"""The boxes of the site-visit sheet, and what of them goes on two sides of paper."""

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby, permutations
from typing import Any, Final

from packsim.doubt.action import Action
from packsim.errors import plain_figures
from packsim.report.words.display import Display
from packsim.report.words.input_words import as_shown, input_name, unit_shown
from packsim.report.words.numbers import with_signs
from packsim.scenario.sheets.asked import Asked

WIDEST: Final = 7
"""Most boxes beside a place."""

_PAGE_MM: Final = 254.0
"""What a side of Letter, the shorter paper, holds between its margins, with a little to spare."""

_TOP_MM, _END_MM, _GROUP_MM = 69.0, 101.0, 9.5
_LINE_MM, _ROW_MM, _TABLE_MM, _HEADS_MM = 4.1, 9.7, 2.5, 8.0
_LETTERS: Final = 105
"""Letters in a line of text. These sizes are those of the template, by its print."""


def name_of(one: Asked) -> str:
    """Return the name of a value where its place is known."""
    return input_name(one.key.rpartition(".")[2])


def exactly(one: Asked, display: Display) -> str:
    """Return how exactly the tools read a value, a number in its unit; empty for what is seen."""
    off = _number(one.within, one, display) - _number(0.0, one, display)
    figures = 2 if unit_shown(one.unit, display) == one.unit else 1
    return plain_figures(off, figures) if off > 0.0 else ""


def form_parts(action: Action, asked: Sequence[Asked], display: Display) -> list[dict[str, Any]]:
    """Return the tables of boxes of one action: heads, and rows of places with their boxes.

    Several readings of one thing have a box each behind its name; else things are columns.
    """
    mine = [one for one in asked if one.action is action]
    if action.readings == 1:
        return [table for part in _alike(mine) for table in _tables(part, display)]
    boxes = [""] * (action.readings - 1)
    cells = [
        (f"{one.place}: {_head([one], display)}", [_was(one, display), *boxes]) for one in mine
    ]
    return [_laid([], cells)] if cells else []


def on_two_sides(
    actions: Sequence[Action], asked: Sequence[Asked], texts: Mapping[Action, str]
) -> dict[str, list[Action]]:
    """Return the actions that go on two sides with all else, by the state of the machine.

    Parameters
    ----------
    actions : sequence of Action
        What there is, best first: one that does not fit gives way to those after it.
    asked : sequence of Asked
        The values they measure.
    texts : mapping of str
        What is said of each above its boxes.

    Returns
    -------
    dict
        By the caution that goes with a state of the machine, the actions that are done in it, best
        first. States are in the order of their best action, unless more goes on the paper in
        another.
    """
    heights = {
        one: _LINE_MM * math.ceil(len(texts[one] + one.caution) / _LETTERS)
        + sum(
            _TABLE_MM + _HEADS_MM * bool(part["heads"]) + _ROW_MM * len(part["rows"])
            for part in form_parts(one, asked, Display())
        )
        for one in actions
    }
    kept: dict[str, list[Action]] = {}
    for action in actions:
        more = kept | {action.caution: [*kept.get(action.caution, []), action]}
        orders = (dict(order) for order in permutations(more.items()))
        kept = next((one for one in orders if _sides(one.values(), heights) <= 2), kept)
    return kept


def _sides(groups: Iterable[Sequence[Action]], heights: Mapping[Action, float]) -> int:
    """Return how many sides of paper actions take; what belongs together is not parted."""
    sides, used = 1, _TOP_MM
    for group in groups:
        blocks = [heights[one] for one in group]
        blocks[0] += _GROUP_MM
        for block in blocks:
            if used + block > _PAGE_MM:
                sides, used = sides + 1, 0.0
            used += block
    return sides + (used + _END_MM > _PAGE_MM)


def _alike(asked: Sequence[Asked]) -> list[list[Asked]]:
    """Return values by what they belong to: the line as a whole, stages and sizes, headers."""

    def sort(one: Asked) -> int:
        whole = one.place in ("line", "every stage")
        return 0 if whole else 2 if "headers" in one.key else 1

    return [list(part) for _, part in groupby(sorted(asked, key=sort), key=sort)]


def _tables(asked: Sequence[Asked], display: Display) -> list[dict[str, Any]]:
    """Return places with their boxes, a column for each thing; as many tables as it takes."""
    columns: dict[str, list[Asked]] = {}
    for one in asked:
        columns.setdefault(name_of(one), []).append(one)
    names, found = list(columns), []
    for i in range(0, len(names), WIDEST):
        some = names[i : i + WIDEST]
        places: dict[str, dict[str, str]] = {}
        for name in some:
            for one in columns[name]:
                places.setdefault(one.place, {})[name] = _was(one, display)
        cells = [(place, [was.get(name) for name in some]) for place, was in places.items()]
        found.append(_laid([_head(columns[name], display) for name in some], cells))
    return found


def _laid(heads: list[str], cells: Sequence[tuple[str, list[Any]]]) -> dict[str, Any]:
    """Return a table of places and their boxes, two places in a row where they are narrow."""
    across = 2 if len(cells) > 1 and len(cells[0][1]) <= (2 if heads else 3) else 1
    rows = [{"cells": cells[i : i + across]} for i in range(0, len(cells), across)]
    return {"heads": heads, "rows": rows, "across": across}


def _head(same: Sequence[Asked], display: Display) -> str:
    """Return what is written down, its unit, and how exactly the tools read it, the strictest."""
    one = same[0]
    if one.known.choices:
        return f"{name_of(one)}: {' / '.join(one.known.choices)}"
    unit = unit_shown(one.unit, display)
    exact = min(
        (found for each in same if (found := exactly(each, display))), key=float, default=""
    )
    return f"{name_of(one)}{', ' if unit else ''}{with_signs(unit)}{f' ±{exact}' if exact else ''}"


def _was(one: Asked, display: Display) -> str:
    """Return what the file takes it as, small in the box."""
    if isinstance(one.now, str):
        return one.now
    return plain_figures(_number(one.now, one, display), 5 if display.metric else 4)


def _number(value: float, one: Asked, display: Display) -> float:
    return as_shown(value, one.unit, display)[0]
