"""What another oven mat would save, as a table for the terminal."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from packsim.flow.mat_heat import HeatRow
from packsim.line import Scenario
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.change_rows import printable

__all__ = ["heat_report"]


def heat_report(
    scenario: Scenario, rows: tuple[HeatRow, ...], name: str, entry_C: float, *, assumed: bool
) -> Group:
    """Return the comparison of two mats.

    Parameters
    ----------
    scenario : Scenario
        The line.
    rows : tuple of HeatRow
        The comparison.
    name : str
        What the other mat is called.
    entry_C : float
        Temperature before the first stage [°C].
    assumed : bool
        Whether that temperature is taken, not given.

    Returns
    -------
    rich.console.Group
        The table, sums for each size, and what the numbers leave out.
    """
    parts: list[RenderableType] = [
        Text(f"{printable(scenario.name)}: present mat against {printable(name)}", "bold")
    ]
    if not rows:
        return Group(*parts, Text("No stage of this line is an oven: there is no heat to compare."))
    table = Table(title="Heat into cans and mat, kJ per minute", title_justify="left")
    for column in ("size", "stage", "warms"):
        table.add_column(column)
    for column in (
        "cans",
        "mat now",
        f"mat, {printable(name)}",
        "total now",
        "total then",
        "saved",
    ):
        table.add_column(Text(column), justify="right")
    for row in rows:
        table.add_row(*(Text(word) for word in _cells(row)))
    parts.append(table)
    for size in dict.fromkeys(row.size for row in rows):
        mine = [row for row in rows if row.size == size]
        now = sum(row.heat.now.total_kJ_per_min for row in mine)
        other = sum(row.heat.other.total_kJ_per_min for row in mine)
        less = "less" if other <= now else "more"
        share = f", {abs(other / now - 1.0) * 100:.0f} % {less}" if now > 0.0 else ""
        if abs(other - now) < 1e-9 * now:
            parts.append(Text(f"{printable(size)}: {now:,.0f} kJ per minute with either mat"))
            continue
        words = f"{printable(size)}: {other:,.0f} kJ per minute with {printable(name)} instead of "
        parts.append(Text(f"{words}{now:,.0f}{share} ({abs(now - other) / 60.0:.1f} kW)"))
    taken = "taken, nobody gave it" if assumed else "as given"
    parts.append(
        Text(
            f"Cans and mat enter the first stage at {entry_C:g} °C ({taken}) and each stage at the "
            "temperature of the one before. Heat to dry water off, to warm air and through walls "
            "comes on top and is the same for both mats. A stage that cools saves nothing.",
            style="dim",
        )
    )
    return Group(*parts, Text(f"Caution. {CAUTION_LINE}"))


def _cells(row: HeatRow) -> list[str]:
    now, other = row.heat.now, row.heat.other
    values = (60.0 * now.cans_kW, 60.0 * now.mat_kW, 60.0 * other.mat_kW)
    totals = (now.total_kJ_per_min, other.total_kJ_per_min, 60.0 * row.heat.saved_kW)
    warms = "cools" if row.cools else f"{row.from_C:g} → {row.to_C:g} °C"
    return [
        printable(row.size),
        printable(row.stage),
        warms,
        *(f"{value:,.0f}" for value in (*values, *totals)),
    ]
