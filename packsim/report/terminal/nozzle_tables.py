"""What the three nozzle reports share: tables whose equal rows are one, lanes in words, the end."""

from __future__ import annotations

import math
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

__all__ = ["Row", "closing", "heading", "lane_words", "merged_table", "percent", "stage_words"]

Row = tuple[str, tuple[str, ...]]
"""Stage, and the cells that follow."""


def heading(scenario: Scenario, display: Display, note: str = "") -> RenderableType:
    """Return the head of a nozzle report: what case, whose guide setting."""
    facts = (
        f"guides as set for {scenario.set_for}; mat {display.length(scenario.mat.width_mm)} wide"
    )
    return Group(Text(scenario.name, style="bold"), Text(note or facts), Text())


def lane_words(lanes: Iterable[int]) -> str:
    """Return lanes, counted from 0, as a person counts them; a dash for none.

    Examples
    --------
    >>> lane_words([0, 1, 2, 23])
    '1–3, 24'
    """
    runs: list[list[int]] = []
    for lane in sorted(lanes):
        if runs and runs[-1][1] == lane:
            runs[-1][1] = lane + 1
        else:
            runs.append([lane + 1, lane + 1])
    words = [f"{a}" if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in runs]
    return ", ".join(words) or "–"


def stage_words(stages: Sequence[str], of: Sequence[str]) -> str:
    """Return stages in words, all of them as one phrase."""
    if len(stages) == len(of) > 1:
        return "every stage"
    return ", ".join(stages)


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

    Returns
    -------
    WideTable
        The table.
    """
    table = WideTable(first)
    for name in columns:
        table.add_column(name.lstrip("<"), "left" if name.startswith("<") else "right")
    groups: dict[tuple[str, ...], list[str]] = {}
    for stage, cells in rows:
        groups.setdefault(cells, []).append(stage)
    for cells, stages in groups.items():
        table.add_row(stage_words(stages, of), *cells)
    return table


def percent(share: float) -> str:
    """Format a share in percent; a dash where there is none."""
    return f"{100.0 * share:.1f} %" if math.isfinite(share) else "–"


def closing(
    legend: Sequence[tuple[str, str]], assumed: Iterable[Assumption], scenario: Scenario
) -> RenderableType:
    """Return what stands under every nozzle report: words, assumptions, caution."""
    words, table = Table.grid(padding=(0, 2)), Table.grid(padding=(0, 2))
    for _ in range(2):
        words.add_column(style="dim", overflow="fold")
    for word, meaning in legend:
        words.add_row(word, meaning)
    for _ in range(3):
        table.add_column(overflow="fold")
    names = [stage.name for stage in scenario.stages]
    for key, value, why in assumed_rows(dict.fromkeys(assumed), names):
        table.add_row(Text(key), Text(value), Text(why, style="dim"))
    head = Text("Assumed (nobody measured these here)", style="bold")
    caution = Text(f"Caution. {CAUTION_LINE}")
    return Group(words, Text(), head, Padding(table, (0, 0, 0, 2)), Text(), caution)
