"""Lines side by side, for the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import partial

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.answers.quantities import quantity
from packsim.compare import Target
from packsim.compare.comparison import ComparedSize, Comparison
from packsim.report.terminal.parts import (
    HEAD_WIDTH,
    VERDICT_STYLE,
    WideTable,
    block,
    caution,
    closing,
    points,
)
from packsim.report.words.compare_words import (
    ANSWER_KEYS,
    CARRIED,
    change_cells,
    left_out_line,
    see_lines,
    size_lines,
    size_table,
    title_lines,
)
from packsim.report.words.display import Display
from packsim.report.words.machine_words import machine_table
from packsim.report.words.summary import legend
from packsim.report.words.target_words import target_head, target_lines, tried_heads, tried_rows


def compare_report(
    found: Comparison,
    display: Display,
    open_both: Sequence[str],
    target: tuple[Target, str] | None = None,
    *,
    everything: bool = False,
) -> RenderableType:
    """Return lines side by side, for the terminal.

    Parameters
    ----------
    found : Comparison
        The lines, and what differs.
    display : Display
        Unit system.
    open_both : sequence of str
        The commands that show the pack of the first line and that of each other.
    target : tuple of Target and str, optional
        What was tried to reach a target, and the scenario file, for commands to copy.
    everything : bool
        Show the difference of every quantity with its interval, and what all rests on.
    """
    parts: list[RenderableType] = [Text("; ".join(title_lines(found)), "bold"), Text()]
    if target is not None:
        parts.append(_target(*target))
    parts.append(block("What differs in the machine", _machine(found, display)))
    parts += [_size(found, one, display, everything) for one in found.sizes]
    parts += [Text(left_out_line(one), "yellow") for one in found.left_out]
    parts += [Text(f"{CARRIED} Seed {found.seed}.", "dim"), *map(Text, see_lines(open_both))]
    end: RenderableType = caution()
    if everything:
        end = closing(legend(ANSWER_KEYS), found.assumed, found.lines[0], display)
    return Group(*parts, Text(), end)


def _target(target: Target, file: str) -> RenderableType:
    table = WideTable("effort", [_wrapped(head) for head in tried_heads(target)])
    for effort, cells in tried_rows(target):
        table.add_row(effort, *cells)
    return block(target_head(target), Group(points(target_lines(target, file)), table))


def _machine(found: Comparison, display: Display) -> RenderableType:
    heads, rows = machine_table(found, display)
    if not rows:
        return Text("nothing")
    table = WideTable("", heads)
    for what, cells in rows:
        table.add_row(what, *cells)
    return table


def _size(
    found: Comparison, one: ComparedSize, display: Display, everything: bool
) -> RenderableType:
    heads, rows, same = size_table(found, one, display)
    parts: list[RenderableType] = [points(size_lines(found, one))]
    if rows:
        table = WideTable(display.lengths_in, [_wrapped(head) for head in heads[1:]])
        for stage, (name, *cells) in rows:  # the name stands first where a table is parted
            styled = (Text(cell, VERDICT_STYLE.get(cell, "")) for cell in cells)
            table.add_row(f"{stage}, {name}", *styled)
        parts.append(table)
    if same:
        parts.append(Text(f"nothing differs: {', '.join(same)}", "dim"))
    if everything and rows:
        parts.append(_differences(found, one, display))
    return block(one.size, Group(*parts), below=1)


def _differences(found: Comparison, one: ComparedSize, display: Display) -> RenderableType:
    """Return the difference of every quantity in every stage, with what is known of its doubt."""
    table = WideTable("difference", ("<line", "<quantity", "by (95 %)", "<settled"))
    for stage in one.stages:
        for name, changes in zip(found.names[1:], stage.changes, strict=True):
            for change in changes:
                if change.by == 0.0 and not change.settled:
                    continue
                if change.key == "tips_per_million":
                    table.add_row(stage.stage, name, "tips per million", *change_cells(change))
                    continue
                asked = quantity(change.key)
                cells = change_cells(change, partial(display.show, asked.kind, unit=False), "less")
                table.add_row(stage.stage, name, asked.heading, *cells)
    return table


def _wrapped(head: str) -> str:
    return "\n".join(textwrap.wrap(head, HEAD_WIDTH, break_long_words=False))
