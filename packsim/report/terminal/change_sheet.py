"""The sheet a crew takes to the machine: what to move where in every stage, and blanks to fill."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from packsim.errors import printable
from packsim.report.terminal.parts import LEVEL_STYLE, assumed_part, block, grid
from packsim.report.terminal.study_table import chance_part
from packsim.report.words.chance_words import Told
from packsim.report.words.change_words import (
    KEEP_WORDS,
    SheetRow,
    inch_step,
    lanes_rows,
    length_text,
    marks_of,
    move_text,
    sheet_rows,
    stage_facts,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import CAUTIONS, span, thousands
from packsim.size_change import Finding, SizeChange, StageChange

BLANK = "_______"


def change_sheet(
    change: SizeChange, display: Display, told: Sequence[Told] = (), file: str = "FILE"
) -> Group:
    """Return the sheet for the terminal or the printer; commands name the file of the scenario.

    Returns
    -------
    rich.console.Group
        Title, cautions, line settings, what to know, a block for each stage, what is assumed, and
        room for names.
    """
    step = inch_step(change)
    title = f"Size change: {printable(change.setting.from_size)} → {printable(change.setting.size)}"
    parts: list[RenderableType] = [
        Text(title, style="bold"),
        Text(printable(change.setting.scenario.name)),
        Text(),
        block("Caution", grid((("!", line) for line in CAUTIONS), gap=1), below=1),
        block("Line", _line(change, display), below=1),
        block("Lanes", grid(lanes_rows(change, display)), below=1),
        block("Read first", _alerts(change.alerts, display, file), below=1),
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
    if told:
        parts.append(chance_part(told))
    rests_on = assumed_part(change.assumed, [stage.found.name for stage in change.stages], display)
    signed = Text(f"Set by {BLANK * 3}   checked by {BLANK * 3}   date {BLANK * 2}")
    return Group(*parts, rests_on, Text(), signed)


def _marks(display: Display, step: Fraction) -> str:
    if display.metric:
        return f"Lengths in mm; moves also in inches, to the nearest {step} in."
    return f"Lengths in inches, to {step} in, finer for a gauge; moves also in mm."


def _line(change: SizeChange, display: Display) -> Table:
    speeds = " → ".join(display.speed(speed) for speed in change.setting.speed_mm_per_s)
    rates = " → ".join(thousands(rate) for rate in change.setting.cans_per_min)
    return grid(
        (
            ("mat speed", speeds, f"as found {BLANK}  as left {BLANK}"),
            ("cans/min", rates, f"({KEEP_WORDS[change.setting.keep]})"),
        )
    )


def _alerts(alerts: tuple[Finding, ...], display: Display, file: str) -> RenderableType:
    if not alerts:
        return Text("Nothing stands out.")
    rows = []
    for one in alerts:
        where = printable(", ".join(one.stages)) or "whole line"
        text = Text.assemble((where, "bold"), ": ", printable(one.what_in(display.length)))
        for line in one.do_in(display.to_set):
            text.append(f"\n→ {printable(line.replace('FILE', file))}")
        rows.append((Text(one.level, style=LEVEL_STYLE[one.level]), text))
    return grid(rows, gap=1)


def _stage(number: int, stage: StageChange, display: Display, step: Fraction) -> RenderableType:
    facts = Text("\n".join(printable(line) for line in stage_facts(stage, display)))
    table = _table(stage, display, step)
    return Group(block(f"{number}  {printable(stage.found.name)}", facts), table)


def _table(stage: StageChange, display: Display, step: Fraction) -> Table:
    own, other = ("mm", "in") if display.metric else ("in", "mm")
    table = Table(box=box.SIMPLE, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("item", overflow="fold")
    turned = f"or\n{other}"
    for name in (f"now,\n{own}", f"set to,\n{own}", turned, f"move,\n{own}", turned):
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


@dataclass(frozen=True, slots=True)
class CrewRow:
    """One row to set, for one or more things that are set alike.

    Parameters
    ----------
    what : str
        What is set.
    rows : tuple of SheetRow
        What it stands for; all have one new setting and one direction.
    note : str
        What to beware of on the way, or empty; lengths in the unit of the sheet.
    """

    what: str
    rows: tuple[SheetRow, ...]
    note: str = ""

    @property
    def stays(self) -> bool:
        """Whether there is nothing to move."""
        return self.rows[0].direction == "stay"

    def cells(self, display: Display, step: Fraction) -> dict[str, str]:
        """Return ``now``, ``new``, ``move`` and the last two in the other unit too, as texts.

        What stands unlike now has ranges, as every one of them moves by its own length.
        """
        other = Display("inch" if display.metric else "metric")
        marks = marks_of(self.rows[0], step)
        now = [row.now_mm for row in self.rows if row.now_mm is not None]
        first, move = self.rows[0], ""
        moves = [(move_text(row, display, marks), row.move_mm) for row in self.rows]
        moves.sort(key=lambda pair: pair[1])
        if first.direction not in ("stay", "add"):
            move = span(moves[0][0], moves[-1][0])
        ends = [length_text(mm, other, step) for _, mm in (moves[0], moves[-1])]
        shown = [length_text(mm, display, marks) for mm in (min(now), max(now))] if now else ["–"]
        return {
            "now": span(shown[0], shown[-1]),
            "new": length_text(first.new_mm, display, marks),
            "new_other": length_text(first.new_mm, other, step),
            "way": first.direction,
            "move": move,
            "move_other": span(*ends) if move else "",
        }


def bracket_rows(stage: StageChange, display: Display) -> list[CrewRow]:
    """Return the brackets of a stage: those that are set alike in one row, then the others."""
    sides: dict[str, list[SheetRow]] = {"left": [], "right": []}
    for row in sheet_rows(stage):
        if row.item == "bracket":
            sides[row.side].append(row)
    left, right = sides["left"], sides["right"]
    if [_ends(row) for row in left] == [_ends(row) for row in right]:
        return _side_rows(left, "both sides", display)
    return _side_rows(left, "left", display) + _side_rows(right, "right", display)


def _side_rows(rows: Sequence[SheetRow], side: str, display: Display) -> list[CrewRow]:
    set_to = [(_ends(row)[1], row.direction) for row in rows]
    (common, count), *_ = Counter(set_to).most_common(1)
    alike = [row for row, to in zip(rows, set_to, strict=True) if to == common]
    found = []
    if count > 1:
        which = f"all {count}" if count == len(rows) else f"the other {count}"
        found.append(CrewRow(f"{which}, {side}", tuple(alike)))
        rows = [row for row in rows if row not in alike]
    return [CrewRow(f"at {display.length(row.station_mm)}, {side}", (row,)) for row in rows] + found


def _ends(row: SheetRow) -> tuple[float, float]:
    """Return where it stands and shall stand, less what no rule shows [mm]."""
    return round(row.now_mm or 0.0, 3), round(row.new_mm, 3)


def height_rows(stage: StageChange, display: Display, step: Fraction) -> list[CrewRow]:
    """Return wires and hold-down of a stage from the mat up as they shall hang.

    A wire is named by its place from the mat as it hangs now; one that has to pass another on its
    way says so.
    """
    rows = [row for row in sheet_rows(stage) if row.item != "bracket"]
    wires = [row for row in rows if row.item == "wire"]
    hang = sorted(row.now_mm for row in wires if row.now_mm is not None)
    idle = dict(zip(wires, (move.idle for move in stage.setting.wires.moves), strict=True))
    found = []
    for row in sorted(rows, key=lambda row: row.new_mm):
        what = "hold-down, underside"
        if row.item == "wire":
            what = "new wire" if row.now_mm is None else f"wire {hang.index(row.now_mm) + 1}"
            what += ", both sides" + (", serves neither size" if idle[row] else "")
        note = ""
        if row.direction in ("up", "down"):
            passes = [f"the {_name(o, display, step)}" for o in rows if _passes(row, o)]
            note = f"passes {' and '.join(passes)} on its way: unhook it first" if passes else ""
        found.append(CrewRow(what, (row,), note))
    return found


def _name(row: SheetRow, display: Display, step: Fraction) -> str:
    return f"{row.item} at {length_text(row.now_mm, display, step)}"


def _passes(row: SheetRow, other: SheetRow) -> bool:
    """Whether a wire that moves ends on the other side of another that hangs there now."""
    if row.item != "wire" or row.now_mm is None or other.now_mm is None or row is other:
        return False
    ends = other.now_mm if other.direction == "stay" else other.new_mm
    return (row.now_mm - other.now_mm) * (row.new_mm - ends) < 0.0


def heights_alike(
    change: SizeChange, display: Display, step: Fraction
) -> list[tuple[list[str], list[CrewRow]]]:
    """Return the heights to set, stages with the same ones together: wires, then hold-downs."""
    groups: dict[str, tuple[list[str], list[CrewRow]]] = {}
    for item in ("wire", "hold-down"):
        for stage in change.stages:
            rows = [r for r in height_rows(stage, display, step) if r.rows[0].item == item]
            key = repr([(row.what, row.note, row.cells(display, step)) for row in rows])
            if rows:
                groups.setdefault(key, ([], rows))[0].append(stage.found.name)
    return list(groups.values())
