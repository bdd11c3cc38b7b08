"""What the sheets of a size change say, on the terminal, on paper and as CSV alike."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from packsim.constants import MM_PER_INCH
from packsim.report.words.display import RULE, Display

if TYPE_CHECKING:  # words of other commands, as for CSV, need not wait for a size change
    from packsim.size_change import SizeChange, StageChange

SOURCE_WORDS: Final = {
    "window": "inside the window, on whole steps",
    "gauge": "inside the window, between bracket steps: use a gauge",
    "stays": "as it stands, inside the window",
    "low end": "lowest width at which the pack does not jam; not safe against tipping",
    "reach": "as far as the brackets go",
    "record": "setting on record for this size",
}
"""Where a stage's new setting comes from."""

UNSAFE: Final = "not safe in the worst case"
"""What a recommended setting is where none is safe, or the one on record is not."""

KEEP_WORDS: Final = {"rate": "same cans/min", "dwell": "same mat speed, same dwell"}
"""What is kept."""

FINEST = 64
"""Finest fraction of an inch a rule is marked in."""

_ON_A_MARK: Final = 1 / 64
"""Part of a step of the rule within which a setting is on its mark: the eye sees no less."""


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One line of the sheet: a bracket, a wire or the hold-down.

    ``now_mm`` and ``new_mm`` are from the mat edge of its side for a bracket, else above the mat.
    ``side`` is left, right (looking downstream), both or ""; ``station_mm`` is along the stage, for
    a bracket. ``direction`` is in, out, up, down, stay or add.
    """

    stage: str
    item: str
    side: str
    station_mm: float | None
    now_mm: float | None
    new_mm: float
    direction: str

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 for what stays or is added [mm]."""
        return 0.0 if self.now_mm is None else abs(self.new_mm - self.now_mm)


def sheet_rows(stage: StageChange) -> Iterator[SheetRow]:
    """List what there is to set in one stage.

    Brackets, left before right at each station, then wires from the mat up, then the hold-down.
    """
    hold = () if stage.setting.hold_down is None else (stage.setting.hold_down,)
    things: list[tuple[str, str, float | None, Any]] = [
        ("bracket", move.side, move.station_mm, move) for move in stage.moves
    ]
    things += [("wire", "both", None, move) for move in stage.setting.wires.moves]
    things += [("hold-down", "", None, move) for move in hold]
    for item, side, station, move in things:
        yield SheetRow(
            stage=stage.found.name,
            item=item,
            side=side,
            station_mm=station,
            now_mm=move.now_mm,
            new_mm=move.new_mm,
            direction=move.direction,
        )


def inch_step(change: SizeChange) -> Fraction:
    """Fraction of an inch the sheet is written to: the step asked for if it is one, else 1/32."""
    if change.setting.step_mm is not None:
        parts = change.setting.step_mm / MM_PER_INCH * FINEST
        if round(parts) >= 1 and abs(parts - round(parts)) < 1e-6:
            return Fraction(round(parts), FINEST)
    return RULE


def marks_of(row: SheetRow, step: Fraction) -> Fraction | None:
    """Fraction of an inch that shows what a row is set to; None where no rule has such a mark.

    What is set with a gauge may lie between the marks of the sheet: it is never rounded to one.

    Examples
    --------
    >>> row = SheetRow("wash", "bracket", "left", 0.0, 123.8, 125.0, "in")
    >>> marks_of(row, Fraction(1, 32)) is None
    True
    """
    if row.direction == "stay":  # nobody sets it
        return step
    for marks in (step, Fraction(1, FINEST)):
        parts = row.new_mm / MM_PER_INCH / float(marks)
        if abs(parts - round(parts)) < _ON_A_MARK:
            return marks
    return None


def length_text(mm: float | None, display: Display, step: Fraction | None) -> str:
    """Format a setting for the sheet, without its unit: decimals of a mm, fractions of an inch.

    Decimals of an inch where no fraction shows it.
    """
    if mm is None:
        return "–"
    if display.metric or step is None:
        return display.bare(mm)
    return display.fraction(mm, step)


def move_text(row: SheetRow, display: Display, step: Fraction | None) -> str:
    """Format a move as the difference of the two settings as shown, so that the sheet adds up.

    Examples
    --------
    >>> row = SheetRow("wash", "bracket", "left", 0.0, 105.75, 90.5, "out")
    >>> length_text(105.75, Display(), Fraction(1, 32)), move_text(row, Display(), Fraction(1, 32))
    ('105.8', '15.3')
    """
    if row.now_mm is None:
        return ""
    if display.metric or step is None:
        shown = [Decimal(length_text(mm, display, step)) for mm in (row.now_mm, row.new_mm)]
        return str(abs(shown[1] - shown[0]))
    unit = MM_PER_INCH * float(step)
    steps = [round(mm / unit) for mm in (row.now_mm, row.new_mm)]
    return length_text(abs(steps[1] - steps[0]) * unit, display, step)


def stage_facts(stage: StageChange, display: Display) -> list[str]:
    """Return what to know about one stage, in lines without an end mark."""
    before, after, window = stage.before, stage.after, stage.after.window
    lanes = [str(answer.pack.lanes) for answer in (before, after)]
    dwells = [f"{answer.dwell_s:.1f}" for answer in (before, after)]
    widths = [display.setting(a.pack.clear_width_mm, unit=False) for a in (before, after)]
    source = SOURCE_WORDS["gauge" if stage.setting.gauge else stage.setting.source]
    lines = [
        f"clear width {_pair(*widths)} {display.length_unit} ({source}); "
        f"guide window {display.window(window, unit=True)}",
        f"lanes {_pair(*lanes)}; dwell {_pair(*dwells)} s; "
        f"cans {_pair(before.tipping.verdict, after.tipping.verdict)}",
        _shift(stage, display),
    ]
    hold = stage.setting.hold_down
    if hold is not None:
        over = display.setting(hold.clearance_mm)
        lines.append(f"hold-down {over} over the can tops ({hold.why})")
    return lines


def _shift(stage: StageChange, display: Display) -> str:
    words, shift_mm = "centre of the pack unchanged", stage.setting.shift_mm
    if display.bare(shift_mm) != display.bare(0.0):
        side = "right" if shift_mm > 0.0 else "left"
        words = f"the pack shifts {display.length(abs(shift_mm))} to the {side}"
    old, new = stage.before.alignment, stage.after.alignment
    if old is None or new is None:
        return words
    off = _pair(*(display.bare(found.now.worst_mm) for found in (old, new)))
    return f"{words}; worst lane {off} {display.length_unit} off its nozzle"


def _pair(now: str, new: str) -> str:
    return new if now == new else f"{now} → {new}"


def lanes_rows(change: SizeChange, display: Display) -> list[tuple[str, str]]:
    """Return the lanes set for and why, then one lane fewer and one more with what each costs."""
    own = change.setting
    judged = _judged(own.safe, own.index, own.offset_mm, display)
    rows = [
        ("lanes", own.reason),
        ("", f"{judged}; guides move up to {display.setting(own.move_mm)}"),
    ]
    for one in change.alternatives:
        words = (
            f"{_judged(one.safe, one.tip_index, one.nozzle_offset_mm, display)}; "
            f"{display.speed(one.speed_mm_per_s)}, {one.cans_per_min:,.0f} cans/min; guides move "
            f"up to {display.setting(one.move_mm)}"
        )
        rows.append((f"or {one.lanes} lanes", words))
    return rows


def _judged(safe: bool, index: float, offset_mm: float, display: Display) -> str:
    """Say how safe a setting is, and how far off the nozzles, where there are any."""
    words = f"{'safe in every stage' if safe else UNSAFE}; tip index {index:.2f}"
    far = (
        "" if math.isnan(offset_mm) else f"; worst lane {display.setting(offset_mm)} off its nozzle"
    )
    return words + far
