"""The rows of a crew sheet: what is set alike is said once, heights stand from the mat up."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from packsim.report.words.change_words import SheetRow, length_text, move_text, sheet_rows
from packsim.report.words.display import Display
from packsim.report.words.numbers import span
from packsim.size_change import SizeChange, StageChange


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
        now = [row.now_mm for row in self.rows if row.now_mm is not None]
        first, move = self.rows[0], ""
        moves = [(move_text(row, display, step), row.move_mm) for row in self.rows]
        moves.sort(key=lambda pair: pair[1])
        if first.direction not in ("stay", "add"):
            move = span(moves[0][0], moves[-1][0])
        ends = [length_text(mm, other, step) for _, mm in (moves[0], moves[-1])]
        shown = [length_text(mm, display, step) for mm in (min(now), max(now))] if now else ["–"]
        return {
            "now": span(shown[0], shown[-1]),
            "new": length_text(first.new_mm, display, step),
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
    pairs = zip(left, right, strict=True)
    if all(_ends(one) == _ends(other) for one, other in pairs):
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
    idle = dict(zip(wires, (move.idle for move in stage.wires.moves), strict=True))
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
                groups.setdefault(key, ([], rows))[0].append(stage.stage)
    return list(groups.values())
