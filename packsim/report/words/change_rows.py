"""The lines of a size change sheet: one for each thing a hand has to set or leave."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from packsim.constants import MM_PER_INCH
from packsim.report.words.display import Display
from packsim.size_change import BracketMove, SizeChange, StageChange

__all__ = [
    "SheetRow",
    "default_step_mm",
    "inch_step",
    "length_text",
    "move_text",
    "printable",
    "sheet_rows",
]

FINEST = 64
"""Finest fraction of an inch a rule is marked in."""


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One line of the sheet.

    Parameters
    ----------
    stage : str
        Name of the stage.
    item : {"bracket", "wire", "hold-down"}
        What it is.
    side : {"left", "right", "both", ""}
        Which side, looking downstream.
    station_mm : float or None
        Place along the stage, for a bracket [mm].
    now_mm, new_mm : float or None
        From the mat edge of its side for a bracket, else above the mat [mm].
    direction : str
        ``in``, ``out``, ``up``, ``down``, ``stay`` or ``add``.
    count : int
        How many brackets this line stands for.
    """

    stage: str
    item: str
    side: str
    station_mm: float | None
    now_mm: float | None
    new_mm: float
    direction: str
    count: int = 1

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 for what stays or is added [mm]."""
        return 0.0 if self.now_mm is None else abs(self.new_mm - self.now_mm)


def sheet_rows(stage: StageChange, *, short: bool = False) -> Iterator[SheetRow]:
    """List what there is to set in one stage.

    Parameters
    ----------
    stage : StageChange
        The stage.
    short : bool
        List one side after the other, and join the brackets of a side that stay and stand alike.

    Yields
    ------
    SheetRow
        Brackets, left before right at each station, then wires from the mat up, then the hold-down.
    """
    moves = sorted(stage.moves, key=lambda move: (move.side, move.station_mm)) if short else []
    if short:
        for _, group in groupby(moves, key=lambda move: move.side):
            side = list(group)
            alike = {(move.now_mm, move.new_mm) for move in side}
            if len(alike) == 1 and side[0].direction == "stay" and len(side) > 1:
                yield _bracket(side[0], len(side))
            else:
                yield from (_bracket(move) for move in side)
    else:
        yield from (_bracket(move) for move in stage.moves)
    for wire in stage.wires.moves:
        yield SheetRow(stage.stage, "wire", "both", None, wire.now_mm, wire.new_mm, wire.direction)
    hold = stage.hold_down
    if hold is not None:
        yield SheetRow(stage.stage, "hold-down", "", None, hold.now_mm, hold.new_mm, hold.direction)


def _bracket(move: BracketMove, count: int = 1) -> SheetRow:
    station = move.station_mm if count == 1 else None
    return SheetRow(
        move.stage, "bracket", move.side, station, move.now_mm, move.new_mm, move.direction, count
    )


def default_step_mm(display: Display) -> float | None:
    """Step of a sheet nobody chose one for: 1/32 in for inches, else each stage's own [mm].

    A sheet in fractions has to be exact: nobody can set what it rounds off.
    """
    return None if display.units == "metric" else MM_PER_INCH / 32.0


def inch_step(change: SizeChange) -> Fraction:
    """Fraction of an inch the sheet is written to: the step asked for where it is one, else 1/32.

    Parameters
    ----------
    change : SizeChange
        The change.

    Returns
    -------
    Fraction
        In inches.
    """
    if change.step_mm is not None:
        parts = change.step_mm / MM_PER_INCH * FINEST
        if round(parts) >= 1 and abs(parts - round(parts)) < 1e-6:
            return Fraction(round(parts), FINEST)
    return Fraction(1, 32)


def length_text(mm: float | None, display: Display, step: Fraction) -> str:
    """Format a setting for the sheet, without its unit: decimals of a mm, fractions of an inch."""
    if mm is None:
        return "–"
    if display.units == "metric":
        return display.length(mm, unit=False)
    return display.fraction(mm, step).removesuffix(" in")


def move_text(row: SheetRow, display: Display, step: Fraction) -> str:
    """Format a move as the difference of the two settings as shown, so that the sheet adds up.

    Examples
    --------
    >>> row = SheetRow("wash", "bracket", "left", 0.0, 105.75, 90.5, "out")
    >>> length_text(105.75, Display(), Fraction(1, 32)), move_text(row, Display(), Fraction(1, 32))
    ('105.8', '15.3')
    """
    if row.now_mm is None:
        return ""
    if display.units == "metric":
        shown = [float(length_text(mm, display, step)) for mm in (row.now_mm, row.new_mm)]
        return length_text(abs(shown[1] - shown[0]), display, step)
    unit = MM_PER_INCH * float(step)
    steps = [round(mm / unit) for mm in (row.now_mm, row.new_mm)]
    return length_text(abs(steps[1] - steps[0]) * unit, display, step)


def printable(text: str) -> str:
    """Replace characters a terminal or a printer would act on instead of showing.

    Examples
    --------
    >>> printable("wash" + chr(27) + "2") == "wash" + chr(0xFFFD) + "2"
    True
    """
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
