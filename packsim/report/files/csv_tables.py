"""Answers as CSV: a sweep, a size change, lanes and shifts, the holes to drill, trials.

A spreadsheet shows it as it is and never runs any of it as a formula.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from packsim.answers.quantities import QUANTITIES, plain_quantities
from packsim.line import MEDIA
from packsim.report.files.stamp import csv_note
from packsim.report.words.change_words import inch_step, marks_of, sheet_rows
from packsim.report.words.display import Display
from packsim.report.words.swept import SWEEP_UNITS, in_shown_units
from packsim.scenario.tables import COLUMNS

if TYPE_CHECKING:  # a table of one command need not wait for those of the others
    from packsim.headers import HeaderCheck, LineShift
    from packsim.report.words.drilling import Drilling
    from packsim.size_change import SizeChange
    from packsim.sweep import Sweep

DIGITS = 8
"""Significant digits: a hundredth of a micrometre on any mat."""


def check_csv(checks: Sequence[HeaderCheck], display: Display) -> str:
    """Return the check of headers as CSV, a row for each lane, lane 1 at the left guide.

    Distances from the nearest nozzle are positive where the lane is to its right.
    """
    unit = display.length_unit
    header = ["stage", "size", "lane", f"line_{unit}"]
    header += [f"nozzle_offset_{side}_{unit}" for side in ("above", "below")]
    keys = [(m, p) for m in MEDIA for p in ("inside", "top", "outside")]
    header += [f"{medium}_{place}_mL_per_can" for medium, place in keys]
    rows: list[list[Cell]] = []
    for check in checks:
        sides = [check.side(name) for name in ("above", "below")]
        doses = {(d.medium, d.place): d.by_lane_mL for d in check.doses}
        for i, line in enumerate(check.at.lines_mm):
            row: list[Cell] = [check.at.stage.name, check.at.can.name, i + 1]
            row.append(display.length_value(float(line)))
            row += [
                None if s is None else display.length_value(float(s.now.per_lane_mm[i]))
                for s in sides
            ]
            row += [float(doses[key][i]) if key in doses else None for key in keys]
            rows.append(row)
    return csv_text(header, rows, DIGITS)


def shift_csv(lines: Sequence[LineShift], display: Display) -> str:
    """Return the best shifts as CSV, a row for each size and stage; positive to the right."""
    words = ["nozzle_offset", "best_shift", "nozzle_offset_shifted", "nozzle_offset_rms"]
    words += ["best_shift_rms", "nozzle_offset_rms_shifted", "room_left", "room_right"]
    header = ["size", "stage", *(f"{word}_{display.length_unit}" for word in words)]
    header += ["hold_margin", "hold_margin_shifted"]
    rows: list[list[Cell]] = []
    for line in lines:
        stages = [
            (
                s.at.stage.name,
                s.joint_now_mm,
                s.joint,
                s.at.room_mm,
                s.hold_margin,
                s.hold_margin_shifted,
            )
            for s in line.stages
        ]
        whole = ("every stage", line.now_mm, line.joint, line.room_mm, math.nan, math.nan)
        for name, now, best, room, before, after in [*stages, whole]:
            values = [math.nan] * 6
            if best is not None:
                values = [now[0], best.shift_for_worst_mm, best.worst_mm]
                values += [now[1], best.shift_for_rms_mm, best.rms_mm]
            lengths = [display.length_value(value) for value in (*values, *room)]
            rows.append([line.size, name, *lengths, before, after])
    return csv_text(header, rows, DIGITS)


def holes_csv(name: str, made: Sequence[Drilling]) -> str:
    """Return the holes to drill as CSV, from both datums in mm and inches.

    What a shop has to know of all of them stands over the table, in lines that begin with #.
    """
    head = [f"scenario: {name}"]
    for k, one in enumerate(made, start=1):
        of = f"header {k}: {one.design.side} the mat; {one.where}; {len(one.places_mm)} holes"
        head.append(f"{of}, {one.hole}; make {len(one.stations)}")
    told = [(*one.sizes, f"datum {one.datum}", f"tolerance: {one.tolerance}") for one in made]
    if len(set(told)) > 1:
        told = [tuple(f"header {k}: {x}" for x in each) for k, each in enumerate(told, start=1)]
    head += dict.fromkeys(line for each in told for line in each)
    columns = ["header", "hole", "size"]
    columns += [f"from_{datum}_{unit}" for datum in ("A", "B") for unit in ("mm", "in")]
    rows: list[list[Cell]] = []
    for k, one in enumerate(made, start=1):
        rows += [
            [k, i + 1, one.hole, *map(float, one.places_in_words(i))]
            for i in range(len(one.places_mm))
        ]
    return "".join(map(csv_note, head)) + csv_text(columns, rows, DIGITS)


def change_csv(change: SizeChange, display: Display) -> str:
    """Return a size change as CSV: a line for each bracket side, wire and hold-down.

    Heads carry units; cells as found and as left are for the crew.
    """
    unit, step = display.length_unit, inch_step(change)
    per_minute = [display.speed_value(speed) for speed in change.setting.speed_mm_per_s]
    speeds = [round(value, 4) for value, _ in per_minute]
    speed_unit = per_minute[0][1].replace("/", "_per_")
    header = ["from_size", "to_size", "stage", "item", "side"]
    header += [f"{word}_{unit}" for word in ("station", "now", "new", "move")]
    header += ["move_in_fraction", "direction", f"as_found_{unit}", f"as_left_{unit}"]
    header += [f"speed_now_{speed_unit}", f"speed_new_{speed_unit}"]
    rows: list[list[Cell]] = []
    sizes = change.setting.from_size, change.setting.size
    for row in (row for stage in change.stages for row in sheet_rows(stage)):
        lengths = (row.station_mm, row.now_mm, row.new_mm, row.move_mm)
        cells: list[Cell] = [*sizes, row.stage, row.item, row.side]
        cells += [None if x is None else round(display.length_value(x), 4) + 0.0 for x in lengths]
        marks = marks_of(row, step)
        cells += [None if marks is None else display.fraction(row.move_mm, marks), row.direction]
        rows.append([*cells, None, None, *speeds])
    return csv_text(header, rows, digits=10)


def sweep_csv(sweep: Sweep) -> str:
    """Return a sweep as CSV: what was turned, unit and value, then each quantity by its key."""
    keys = [one.key for one in QUANTITIES if one.kind != "counts"]
    rows: list[list[Cell]] = []
    for row in in_shown_units(sweep).rows:
        plain = plain_quantities(row.answer)
        turned: list[Cell] = [sweep.knob.name, SWEEP_UNITS[sweep.knob.kind], row.value]
        tips: list[Cell] = [row.tips_per_million, *row.tips_per_million_interval]
        tips += [row.cans_counted, row.tips_counted]
        rows.append(turned + [plain[key] for key in keys] + tips)
    tips_keys = [f"tips_per_million{end}" for end in ("", "_low", "_high")]
    tips_keys += ["cans_counted", "tips_counted"]
    return csv_text(["over", "unit", "value", *keys, *tips_keys], rows)


def trials_csv(rows: Iterable[Mapping[str, str]]) -> str:
    """Return a sheet of trials from cells by column, the others empty, to be filled in."""
    return csv_text(COLUMNS, [[row.get(column, "") for column in COLUMNS] for row in rows])


Cell = str | float | int | None
"""What a cell may hold; None and numbers that are not finite become empty."""

_FORMULA = ("=", "+", "-", "@")
"""First characters, blanks aside, that make a spreadsheet read a text as a formula."""

_CONTROL = ("\t", "\r", "\n")
"""First characters that some spreadsheets drop before they look for one of those."""


def safe_text(text: str) -> str:
    """Return text that no spreadsheet takes for a formula; a quote is put before one that it would.

    Examples
    --------
    >>> safe_text("=1+1"), safe_text("wash")
    ("'=1+1", 'wash')
    """
    unsafe = text.startswith(_CONTROL) or text.lstrip().startswith(_FORMULA)
    return f"'{text}" if unsafe else text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]], digits: int = 6) -> str:
    r"""Return a table as CSV (RFC 4180, UTF-8 when written), each line ending in CR LF.

    Numbers stay numbers, of so many significant digits where they are not whole; texts are made
    safe.

    Examples
    --------
    >>> csv_text(["stage", "slack [mm]"], [["wash", 8.5], ["@rinse", None]])
    "stage,slack [mm]\r\nwash,8.5\r\n'@rinse,\r\n"
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([safe_text(name) for name in header])
    for row in rows:
        writer.writerow([_cell(cell, digits) for cell in row])
    return out.getvalue()


def _cell(cell: Cell, digits: int) -> str | int:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return safe_text(cell)
    if isinstance(cell, int):
        return cell
    return f"{cell:.{digits}g}" if math.isfinite(cell) else ""
