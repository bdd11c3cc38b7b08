"""A size change as CSV: one line for each thing to set, with blanks for as found and as left."""

from __future__ import annotations

import csv
import io

from packsim.report.change_rows import SheetRow, inch_step, sheet_rows
from packsim.report.display import Display
from packsim.size_change import SizeChange

__all__ = ["change_csv", "safe_text"]


def change_csv(change: SizeChange, display: Display) -> str:
    """Return a size change as CSV text.

    Parameters
    ----------
    change : SizeChange
        The change.
    display : Display
        Unit system of the numbers.

    Returns
    -------
    str
        A header line with units, then one line for each bracket side, wire and hold-down. Numbers
        are plain numbers; names cannot be taken for formulas.
    """
    unit = display.length_unit
    metric = display.units == "metric"
    speed_unit, per_min = ("m/min", 0.06) if metric else ("ft/min", 60.0 / 304.8)
    speeds = [round(speed * per_min, 4) for speed in change.speed_mm_per_s]
    out = io.StringIO(newline="")
    table = csv.writer(out)
    table.writerow(
        [
            "from size",
            "to size",
            "stage",
            "item",
            "side",
            f"station [{unit}]",
            f"now [{unit}]",
            f"new [{unit}]",
            f"move [{unit}]",
            "move [in, fraction]",
            "direction",
            f"as found [{unit}]",
            f"as left [{unit}]",
            f"mat speed now [{speed_unit}]",
            f"mat speed new [{speed_unit}]",
        ]
    )
    step = inch_step(change)
    for stage in change.stages:
        for row in sheet_rows(stage):
            names = [change.from_size, change.to_size, row.stage, row.item, row.side]
            fraction = display.fraction(row.move_mm, step).removesuffix(" in")
            numbers = _numbers(row, display)
            cells = [*numbers, safe_text(fraction), row.direction, "", "", *speeds]
            table.writerow([*(safe_text(name) for name in names), *cells])
    return out.getvalue()


def safe_text(text: str) -> str:
    """Return a text no spreadsheet takes for a formula: such a one gets an apostrophe in front.

    Examples
    --------
    >>> safe_text("=1+1"), safe_text("wash"), safe_text("@home")
    ("'=1+1", 'wash', "'@home")
    """
    starts = text[:1] in ("=", "+", "-", "@", "\t", "\r", "\n")
    return f"'{text}" if starts or text.lstrip()[:1] in ("=", "+", "-", "@") else text


def _numbers(row: SheetRow, display: Display) -> list[float | str]:
    values = (row.station_mm, row.now_mm, row.new_mm, row.move_mm)
    return ["" if mm is None else round(display.length_value(mm), 4) + 0.0 for mm in values]
