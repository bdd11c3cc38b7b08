"""The sheet a crew takes to the machine: what to move where in every stage, and blanks to fill."""

from __future__ import annotations

from fractions import Fraction

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTIONS
from packsim.report.words.change_rows import (
    SheetRow,
    inch_step,
    length_text,
    move_text,
    printable,
    sheet_rows,
)
from packsim.report.words.change_words import KEEP_WORDS, stage_facts, tips_text
from packsim.report.words.display import Display
from packsim.size_change import Finding, SizeChange, StageChange

__all__ = ["change_sheet"]

BLANK = "_______"
LEVEL_STYLE = {"stop": "bold red", "change": "bold yellow", "watch": "cyan", "note": "green"}


def change_sheet(change: SizeChange, display: Display) -> Group:
    """Return the sheet for the terminal or the printer.

    Parameters
    ----------
    change : SizeChange
        The change.
    display : Display
        Unit system; the other one's move is shown beside.

    Returns
    -------
    rich.console.Group
        Title, cautions, line settings, what to know, a block for each stage, what is assumed, and
        room for names.
    """
    step = inch_step(change)
    parts: list[RenderableType] = [
        Text(
            f"SIZE CHANGE   {printable(change.from_size)} → {printable(change.to_size)}",
            style="bold",
        ),
        Text(printable(change.scenario)),
        Text(),
        Text("Before you start", style="bold"),
        *(Padding(Text(f"! {line}"), (0, 0, 0, 2)) for line in CAUTIONS),
        Text(),
        _line(change, display),
        Text(),
        _alerts(change.alerts, display),
        Text(
            "Guide faces are measured from the mat edge of their own side, left and right looking "
            "downstream; in is towards the middle of the mat. Heights are above the mat. "
            f"{_marks(change, display, step)}",
            style="dim",
        ),
        Text(),
    ]
    for number, stage in enumerate(change.stages, start=1):
        parts += [_stage(number, stage, display, step), Text()]
    parts += [_assumed(change), Text()]
    parts.append(Text(f"Set by {BLANK * 3}   checked by {BLANK * 3}   date {BLANK * 2}"))
    return Group(*parts)


def _marks(change: SizeChange, display: Display, step: Fraction) -> str:
    if display.units == "inch":
        return f"Lengths in inches, to the nearest {step} in; moves also in mm."
    return f"Lengths in mm; moves also in inches, to the nearest {step} in."


def _line(change: SizeChange, display: Display) -> RenderableType:
    table = Table.grid(padding=(0, 2))
    speed, rate = change.speed_mm_per_s, change.cans_per_min
    table.add_row(
        "mat speed",
        f"{display.speed(speed[0])} → {display.speed(speed[1])}",
        f"as found {BLANK}  as left {BLANK}",
    )
    table.add_row(
        "cans per minute", f"{rate[0]:,.0f} → {rate[1]:,.0f}", f"({KEEP_WORDS[change.keep]})"
    )
    tips, basis = tips_text(change, display)
    table.add_row("tips per million", tips, f"({printable(basis)})")
    return Group(Text("Line", style="bold"), Padding(table, (0, 0, 0, 2)))


def _alerts(alerts: tuple[Finding, ...], display: Display) -> RenderableType:
    if not alerts:
        return Text("Know first: nothing stands out.\n")
    table = Table.grid(padding=(0, 1))
    table.add_column()
    table.add_column(overflow="fold")
    for one in alerts:
        where = printable(", ".join(one.stages)) or "whole line"
        text = Text.assemble((where, "bold"), ": ", printable(one.what_in(display.length)))
        for line in one.do_in(display.length):
            text.append(f"\n→ {printable(line)}")
        table.add_row(Text(one.level, style=LEVEL_STYLE[one.level]), text)
    return Group(Text("Know first", style="bold"), Padding(table, (0, 0, 1, 2)))


def _stage(number: int, stage: StageChange, display: Display, step: Fraction) -> RenderableType:
    title = Text(f"{number}  {printable(stage.stage)}", style="bold")
    return Group(
        title,
        *(Text(f"   {line}") for line in stage_facts(stage, display)),
        _table(stage, display, step),
    )


def _table(stage: StageChange, display: Display, step: Fraction) -> Table:
    own, other = ("mm", "in") if display.units == "metric" else ("in", "mm")
    table = Table(box=box.SIMPLE, pad_edge=False)
    table.add_column("set")
    table.add_column("side")
    for name in (f"now {own}", f"new {own}"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("way")
    for name in (f"by, {own}", f"by, {other}"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("as found", no_wrap=True)
    table.add_column("as left", no_wrap=True)
    for row in sheet_rows(stage, short=True):
        table.add_row(*_cells(row, display, step))
    return table


def _cells(row: SheetRow, display: Display, step: Fraction) -> list[Text]:
    second = Display("inch" if display.units == "metric" else "metric")
    moved = row.direction not in ("stay", "add")
    moves = [move_text(row, display, step), length_text(row.move_mm, second, step)]
    moves = moves if moved else ["", ""]
    words = [
        _name(row, display),
        row.side,
        length_text(row.now_mm, display, step),
        length_text(row.new_mm, display, step),
        row.direction,
        *moves,
        BLANK,
        BLANK,
    ]
    style = "" if row.direction != "stay" else "dim"
    return [Text(word, style=style) for word in words]


def _name(row: SheetRow, display: Display) -> str:
    if row.item != "bracket":
        return row.item
    if row.station_mm is None:
        return f"all {row.count} brackets"
    return f"bracket at {display.length(row.station_mm)}"


def _assumed(change: SizeChange) -> RenderableType:
    if not change.assumed:
        return Text("Nothing is assumed: every value was given or read in a source.")
    table = Table.grid(padding=(0, 2))
    for _ in range(3):
        table.add_column(overflow="fold")
    for row in assumed_rows(change.assumed, [stage.stage for stage in change.stages]):
        table.add_row(*(Text(printable(word), style="dim") for word in row))
    heading = Text("Assumed (nobody measured these here; the settings rest on them)", style="bold")
    return Group(heading, Padding(table, (0, 0, 0, 2)))
