"""A size change as CSV: one line for each thing to set, with blanks for as found and as left."""

from __future__ import annotations

from packsim.report.files.spreadsheet import Cell, csv_text
from packsim.report.words.change_words import SheetRow, inch_step, sheet_rows
from packsim.report.words.display import Display
from packsim.size_change import SizeChange


def change_csv(change: SizeChange, display: Display) -> str:
    """Return a size change as CSV: a line for each bracket side, wire and hold-down.

    Heads carry units; numbers are plain numbers; names cannot be taken for formulas.
    """
    unit = display.length_unit
    speed_unit, per_min = ("m_per_min", 0.06) if display.metric else ("ft_per_min", 60.0 / 304.8)
    speeds = [round(speed * per_min, 4) for speed in change.speed_mm_per_s]
    step = inch_step(change)
    rows: list[list[Cell]] = []
    for stage in change.stages:
        for row in sheet_rows(stage):
            fraction = display.fraction(row.move_mm, step).removesuffix(" in")
            names = [change.from_size, change.to_size, row.stage, row.item, row.side]
            found: list[Cell] = [None, None]
            rows.append([*names, *_numbers(row, display), fraction, row.direction, *found, *speeds])
    return csv_text(_heads(unit, speed_unit), rows, digits=10)


def _heads(unit: str, speed_unit: str) -> list[str]:
    heads = ["from_size", "to_size", "stage", "item", "side"]
    heads += [f"{word}_{unit}" for word in ("station", "now", "new", "move")]
    heads += ["move_in_fraction", "direction", f"as_found_{unit}", f"as_left_{unit}"]
    return [*heads, f"speed_now_{speed_unit}", f"speed_new_{speed_unit}"]


def _numbers(row: SheetRow, display: Display) -> list[float | None]:
    values = (row.station_mm, row.now_mm, row.new_mm, row.move_mm)
    return [None if mm is None else round(display.length_value(mm), 4) + 0.0 for mm in values]
