"""What becomes of doses and tip margin where something is not as drawn, as a table."""

from collections.abc import Sequence

from rich.console import RenderableType

from packsim.headers import WhatIf
from packsim.report.terminal.parts import WideTable
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, signed

WHAT_IF_LEGEND = (
    ("plugged", "in the headers at those stations, one at a time; the others spray as before"),
    ("tip margin", "share of its resistance to tipping a can keeps under the sprays; 0: it tips"),
    ("nozzle", "the plugged nozzle that costs most of the tip margin, where one does"),
    ("holes off", "each its own way for the dose; for the tip margin each side as a whole"),
)


def what_if_table(rows: Sequence[WhatIf], display: Display) -> RenderableType:
    """Return what becomes of doses and tip margin, headers for which it is the same together."""
    heads = []
    for dose in rows[0].doses:
        heads += [f"{dose.place}\nmL", "lane", "change"]
    costly = any(_costs(row) for row in rows)
    table = WideTable("", [*heads, "tip\nmargin", "change", *["nozzle"] * costly])
    alike: dict[tuple[str, ...], list[WhatIf]] = {}
    for row in rows:
        cells = [row.what, row.side, row.size, str(row.nozzle), f"{row.amount:g}"]
        for dose in row.doses:
            change = percent(dose.change_share, 0) if row is not rows[0] else ""
            cells += [f"{dose.worst_mL:.2f}", str(dose.lane), change]
        cells += [signed(row.hold_margin, 2)]
        cells += ["" if row is rows[0] else signed(row.hold_margin_change, 2, plus=True)]
        cells += [str(row.hold_nozzle) if _costs(row) else ""] * costly
        alike.setdefault(tuple(cells), []).append(row)
    for shown, same in alike.items():
        table.add_row(_named(same, display), *shown[5:])
    return table


def _costs(row: WhatIf) -> bool:
    """Whether a plugged nozzle costs any tip margin that shows."""
    return row.hold_nozzle > 0 and row.hold_margin_change < -0.005


def _named(rows: Sequence[WhatIf], display: Display) -> str:
    """Say what is not as drawn."""
    row = rows[0]
    if row.what == "plugged":
        where = ", ".join(display.bare(each.station_mm) for each in rows)
        return f"nozzle {row.nozzle} plugged {row.side}, at {where}"
    if row.what in ("left", "right"):
        return f"pack {display.length(row.amount)} to the {row.what}"
    if row.what == "holes":
        return f"holes off by {display.length(row.amount)}"
    if row.what == "pressure":
        return f"pressures {signed(100.0 * row.amount, 0, plus=True)} %"
    if row.what == "stand-off":
        return f"headers as far off as from {row.size}"
    return row.what
