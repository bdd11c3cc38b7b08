"""Parts that several reports share: headed blocks, merged tables, the end."""

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.assumption import Assumption
from packsim.line import Scenario
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display
from packsim.report.words.names import stage_words

Row = tuple[str, tuple[str, ...]]
"""Stage, and the cells that follow."""

LEVEL_STYLE = {"stop": "bold red", "change": "bold yellow", "watch": "cyan", "note": "green"}
"""Colour of a finding by its level."""


def block(head: str | Text, body: RenderableType, below: int = 0) -> Group:
    """Return a part of a report: a bold head, the body set in under it."""
    heading = Text(head, style="bold") if isinstance(head, str) else head
    return Group(heading, Padding(body, (0, 0, below, 2)))


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
    groups: dict[tuple[str, ...], list[str]] = {}
    for stage, cells in rows:
        groups.setdefault(cells, []).append(stage)
    for cells, stages in groups.items():
        table.add_row(stage_words(stages, of), *cells)
    return table
