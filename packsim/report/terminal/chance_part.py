"""The chance of a tip as a table, the same below every command that asks for it."""

from collections.abc import Iterable

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.chance import History
from packsim.report.terminal.parts import WideTable, block
from packsim.report.words.chance_words import HEADS, Told
from packsim.report.words.display import Display
from packsim.report.words.history_words import history_lines


def history_part(past: History | None, display: Display) -> list[RenderableType]:
    """Return what the line is known to have done beside the model; nothing without a history."""
    if past is None:
        return []
    lines = [Text(line) for line in history_lines(past, display)]
    return [block("The line's own history first", Group(*lines), below=1)]


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
