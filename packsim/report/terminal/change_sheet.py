"""The sheet a crew takes to the machine: what to move where in every stage, and blanks to fill."""

from fractions import Fraction

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from packsim.report.terminal.parts import LEVEL_STYLE, assumed_part, block, grid
from packsim.report.words.cautions import CAUTIONS
from packsim.report.words.change_words import (
    KEEP_WORDS,
    inch_step,
    lanes_rows,
    stage_facts,
)
from packsim.report.words.crew_rows import bracket_rows, height_rows
from packsim.report.words.display import Display
from packsim.report.words.numbers import printable, thousands
from packsim.size_change import Finding, SizeChange, StageChange

BLANK = "_______"


def change_sheet(change: SizeChange, display: Display) -> Group:
    """Return the sheet for the terminal or the printer.

    Returns
    -------
    rich.console.Group
        Title, cautions, line settings, what to know, a block for each stage, what is assumed, and
        room for names.
    """
    step = inch_step(change)
    title = f"Size change: {printable(change.from_size)} → {printable(change.to_size)}"
    parts: list[RenderableType] = [
        Text(title, style="bold"),
        Text(printable(change.scenario)),
        Text(),
        block("Caution", grid((("!", line) for line in CAUTIONS), gap=1), below=1),
        block("Line", _line(change, display), below=1),
        block("Lanes", grid(lanes_rows(change, display)), below=1),
        block("Read first", _alerts(change.alerts, display), below=1),
        Text(
            "Guide faces are measured from the mat edge of their own side, left and right looking "
            "downstream; in is towards the middle of the mat. Heights are above the mat. "
            f"{_marks(display, step)}",
            style="dim",
        ),
        Text(),
    ]
    for number, stage in enumerate(change.stages, start=1):
        parts += [_stage(number, stage, display, step), Text()]
    parts += [
        assumed_part(change.assumed, [stage.stage for stage in change.stages], display),
        Text(),
    ]
    parts.append(Text(f"Set by {BLANK * 3}   checked by {BLANK * 3}   date {BLANK * 2}"))
    return Group(*parts)


def _marks(display: Display, step: Fraction) -> str:
    if display.metric:
        return f"Lengths in mm; moves also in inches, to the nearest {step} in."
    return f"Lengths in inches, to the nearest {step} in; moves also in mm."


def _line(change: SizeChange, display: Display) -> Table:
    speeds = " → ".join(display.speed(speed) for speed in change.speed_mm_per_s)
    rates = " → ".join(thousands(rate) for rate in change.cans_per_min)
    return grid(
        (
            ("mat speed", speeds, f"as found {BLANK}  as left {BLANK}"),
            ("cans/min", rates, f"({KEEP_WORDS[change.keep]})"),
        )
    )


def _alerts(alerts: tuple[Finding, ...], display: Display) -> RenderableType:
    if not alerts:
        return Text("Nothing stands out.")
    rows = []
    for one in alerts:
        where = printable(", ".join(one.stages)) or "whole line"
        text = Text.assemble((where, "bold"), ": ", printable(one.what_in(display.length)))
        for line in one.do_in(display.to_set):
            text.append(f"\n→ {printable(line)}")
        rows.append((Text(one.level, style=LEVEL_STYLE[one.level]), text))
    return grid(rows, gap=1)


def _stage(number: int, stage: StageChange, display: Display, step: Fraction) -> RenderableType:
    facts = Text("\n".join(printable(line) for line in stage_facts(stage, display)))
    table = _table(stage, display, step)
    return Group(block(f"{number}  {printable(stage.stage)}", facts), table)


def _table(stage: StageChange, display: Display, step: Fraction) -> Table:
    own, other = ("mm", "in") if display.metric else ("in", "mm")
    table = Table(box=box.SIMPLE, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("item", overflow="fold")
    for name in (
        f"now,\n{own}",
        f"set to,\n{own}",
        f"or\n{other}",
        f"move,\n{own}",
        f"or\n{other}",
    ):
        table.add_column(name, justify="right", no_wrap=True)
    for name in ("as found", "as left"):
        table.add_column(name, no_wrap=True)
    brackets = bracket_rows(stage, display)
    for row in (*brackets, *height_rows(stage, display, step)):
        cells = row.cells(display, step)
        move = f"{cells['way']} {cells['move']}".rstrip()
        what = f"brackets: {row.what}" if row in brackets else row.what
        what += f"; {row.note}" if row.note else ""
        words = [what, cells["now"], cells["new"], cells["new_other"], move, cells["move_other"]]
        blanks = ["", ""] if row.stays else [BLANK, BLANK]
        style = "dim" if row.stays else ""
        table.add_row(*(Text(word, style=style) for word in (*words, *blanks)))
    return table
