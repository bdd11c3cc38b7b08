"""Quantities of answers as columns of a table and as a legend."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from rich.text import Text

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.report.terminal.parts import WideTable
from packsim.report.words.display import Display

HEAD_WIDTH: Final = 8
"""Characters of a heading on one line."""

VERDICT_STYLE: Final = {
    "tight": "yellow",
    "held": "green",
    "loose": "yellow",
    "can tip": "bold red",
}


def heading(key: str) -> str:
    """Return the heading of a quantity on as many short lines as it takes."""
    return "\n".join(textwrap.wrap(quantity(key).heading, HEAD_WIDTH))


def add_quantities(
    table: WideTable,
    keys: Iterable[str],
    rows: Sequence[tuple[str, Answer]],
    display: Display,
    more: Mapping[str, Sequence[str]] | None = None,
) -> None:
    """Add a column for each quantity that any row has, and the rows.

    Parameters
    ----------
    table : WideTable
        The table, without columns.
    keys : iterable of str
        Keys of the quantities.
    rows : sequence of (str, Answer)
        First cell and answer of each row.
    display : Display
        Unit system; lengths are shown without their unit.
    more : mapping, optional
        More columns: the cells of every row by heading.
    """
    shown = [
        q for q in map(quantity, keys) if any(q.plain(answer) is not None for _, answer in rows)
    ]
    for one in shown:
        table.add_column(heading(one.key), "left" if one.kind == "word" else "right")
    for title in more or {}:
        table.add_column(title, "right")
    for i, (name, answer) in enumerate(rows):
        cells = [display.show(one.kind, one.of(answer), unit=False) for one in shown]
        cells += [column[i] for column in (more or {}).values()]
        styled = [Text(cell, VERDICT_STYLE.get(cell, "")) for cell in cells]
        table.add_row(name, *styled)
