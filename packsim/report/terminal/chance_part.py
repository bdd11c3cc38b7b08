"""The chance of a tip as a table, the same below every command that asks for it."""

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.report.terminal.parts import WideTable, block
from packsim.report.words.chance_words import HEADS, Told


def chance_part(told: Iterable[Told]) -> RenderableType:
    """Return a table for each setting, and below it what it rests on."""
    parts: list[RenderableType] = []
    for one in told:
        table = WideTable("stage", HEADS)
        for stage, cells in one.rows:
            table.add_row(stage, *cells)
        said = [Text(line, style="dim") for line in one.said]
        shown = (table, *said) if one.rows else said
        parts.append(block(f"Chance of a tip: {one.name}", Group(*shown), below=1))
    return Group(*parts)
