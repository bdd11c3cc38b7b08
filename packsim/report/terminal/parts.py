"""Parts that several reports share: headed blocks, merged and wide tables, quantities, the end."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, Literal

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len, set_cell_size
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.errors import Assumption
from packsim.line import Scenario
from packsim.report.words.display import Display
from packsim.report.words.numbers import CAUTION_LINE, assumed_rows, stage_words, stages_alike

Row = tuple[str, tuple[str, ...]]
"""Stage, and the cells that follow."""

LEVEL_STYLE = {"stop": "bold red", "change": "bold yellow", "watch": "cyan", "note": "green"}
"""Colour of a finding by its level."""


def cut(text: str, width: int) -> str:
    """Return a text of one line, its end left out where it does not fit so many cells."""
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, max(0, width - 2)).rstrip() + " …"


def block(head: str | Text, body: RenderableType, below: int = 0) -> Group:
    """Return a part of a report: a bold head, the body set in under it."""
    heading = Text(head, style="bold") if isinstance(head, str) else head
    return Group(heading, Padding(body, (0, 0, below, 2)))


def line_head(scenario: Scenario, display: Display, note: str = "") -> RenderableType:
    """Return the head of a report of one line: its name, and whose setting or what to note."""
    mat = display.length(scenario.mat.width_mm)
    facts = f"guides as set for {scenario.set_for}; mat {mat} wide"
    return Group(Text(scenario.name, style="bold"), Text(note or facts), Text())


def grid(rows: Iterable[Sequence[str | Text]], gap: int = 2, style: str = "") -> Table:
    """Return rows in columns that wrap, without lines."""
    table = Table.grid(padding=(0, gap))
    for cells in rows:
        while len(table.columns) < len(cells):
            table.add_column(style=style, overflow="fold")
        table.add_row(*(Text(cell) if isinstance(cell, str) else cell for cell in cells))
    return table


def points(sentences: Iterable[str]) -> Table:
    """Return sentences as a list with dots."""
    return grid((("·", sentence) for sentence in sentences), gap=1)


def assumed_part(
    assumed: Iterable[Assumption], stages: Sequence[str], display: Display
) -> RenderableType:
    """Return what an answer rests on without a measurement."""
    rows = assumed_rows(dict.fromkeys(assumed), stages, display.units)
    if not rows:
        return Text("Nothing is assumed: every value was given or read in a source.")
    shown = grid((key, value, Text(why, style="dim")) for key, value, why in rows)
    return block("Assumed (nobody measured these here; every answer rests on them)", shown)


def caution() -> Text:
    """Return the safety lines in one, for the end of every report."""
    return Text(f"Caution. {CAUTION_LINE}")


def closing(
    legend: Sequence[tuple[str, str]],
    assumed: Iterable[Assumption],
    scenario: Scenario,
    display: Display,
) -> RenderableType:
    """Return what stands under a report: its words, what is assumed, the caution."""
    names = [stage.name for stage in scenario.stages]
    rests_on = assumed_part(assumed, names, display)
    return Group(grid(legend, style="dim"), Text(), rests_on, Text(), caution())


Justify = Literal["left", "right"]

_GAP = 2
"""Blank between two columns: a space and the invisible line of the box."""

_EDGES = 2
"""What the sides of the box take."""


class WideTable:
    """Rows with a name in the first column, which is repeated in every part.

    A column that does not fit is never cut short: numbers with their last digits gone are wrong
    numbers. Names of rows may wrap.

    Parameters
    ----------
    first : str
        Heading of the first column.
    columns : sequence of str
        The other headings; those that hold words start with ``<`` and stand to the left.
    """

    def __init__(self, first: str, columns: Sequence[str] = ()) -> None:
        self._first = first
        self._heads: list[tuple[str, Justify]] = []
        self._rows: list[tuple[Text, ...]] = []
        for head in columns:
            self.add_column(head.lstrip("<"), "left" if head.startswith("<") else "right")

    def add_column(self, head: str, justify: Justify = "right") -> None:
        """Add a column; all columns come before the first row."""
        self._heads.append((head, justify))

    def add_row(self, name: str, *cells: str | Text) -> None:
        """Add a row; texts are shown as they are, square brackets too."""
        self._rows.append((Text(name), *(Text(c) if isinstance(c, str) else c for c in cells)))

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield as many tables as the width asks for."""
        for columns in self._parts(options.max_width):
            yield self._table(columns, self._name_width(options.max_width))

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """Give the width that would take the whole table."""
        need = _EDGES + sum(self._width(i) for i in range(len(self._heads) + 1))
        return Measurement(min(need, options.max_width), min(need, options.max_width))

    def _parts(self, width: int) -> Iterator[Sequence[int]]:
        room = width - _EDGES - self._name_width(width) - _GAP
        part: list[int] = []
        left = room
        for i in range(1, len(self._heads) + 1):
            need = self._width(i)
            if part and need > left:
                yield part
                part, left = [], room
            part.append(i)
            left -= need
        yield part

    def _name_width(self, width: int) -> int:
        return max(1, min(self._width(0) - _GAP, width // 3))

    def _width(self, column: int) -> int:
        head = self._first if column == 0 else self._heads[column - 1][0]
        lines = [Text(line).cell_len for line in head.split("\n")]
        return max([*lines, *(row[column].cell_len for row in self._rows)]) + _GAP

    def _table(self, columns: Sequence[int], name_width: int) -> Table:
        table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, _GAP - 1, 0, 0))
        table.add_column(Text(self._first), width=name_width, overflow="fold")
        for i in columns:
            head, justify = self._heads[i - 1]
            table.add_column(Text(head), justify=justify, no_wrap=True)
        for row in self._rows:
            table.add_row(row[0], *(row[i] for i in columns))
        return table


def merged_table(
    first: str, columns: Sequence[str], rows: Sequence[Row], of: Sequence[str]
) -> WideTable:
    """Return a table in which stages with the same cells share a row.

    Parameters
    ----------
    first : str
        Heading of the first column.
    columns : sequence of str
        The other headings; those that hold words start with ``<`` and stand to the left.
    rows : sequence of Row
        In order; rows that differ only in the stage become one.
    of : sequence of str
        All stages shown, so that a row for each of them may say so.
    """
    table = WideTable(first, columns)
    for cells, stages in stages_alike(rows).items():
        table.add_row(stage_words(stages, of), *cells)
    return table


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
