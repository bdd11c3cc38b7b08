"""A sweep as CSV."""

from __future__ import annotations

from packsim.answers.quantities import QUANTITIES, plain_quantities
from packsim.report.files.spreadsheet import Cell, csv_text
from packsim.report.words.swept import SWEEP_UNITS, in_shown_units
from packsim.sweep import Sweep


def sweep_csv(sweep: Sweep) -> str:
    """Return a sweep as CSV: what was turned, unit and value, then each quantity by its key."""
    shown = in_shown_units(sweep)
    keys = [one.key for one in QUANTITIES if one.kind != "counts"]
    rows: list[list[Cell]] = []
    for row in shown.rows:
        plain = plain_quantities(row.answer)
        rows.append([sweep.knob.name, SWEEP_UNITS[sweep.knob.kind], row.value])
        rows[-1] += [plain[key] for key in keys]
    return csv_text(["over", "unit", "value", *keys], rows)
