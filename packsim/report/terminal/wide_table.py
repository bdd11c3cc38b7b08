"""A table that is cut into several under each other where the terminal is too narrow for it."""

from collections.abc import Iterator, Sequence
from typing import Literal

from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

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
        heads = [self._heads[i - 1] for i in columns]
        depth = max(head.count("\n") for head, _ in [(self._first, ""), *heads])
        first = _low(self._first, depth)
        table.add_column(first, width=name_width, overflow="fold")
        for head, justify in heads:
            table.add_column(_low(head, depth), justify=justify, no_wrap=True)
        for row in self._rows:
            table.add_row(row[0], *(row[i] for i in columns))
        return table


def _low(head: str, depth: int) -> Text:
    """Return a heading set down to the last of its lines."""
    return Text("\n" * (depth - head.count("\n")) + head)
