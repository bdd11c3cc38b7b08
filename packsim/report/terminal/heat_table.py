"""What another mat in the oven would save, as a table for the terminal."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.flow.mat_heat import HeatRow
from packsim.line import Scenario
from packsim.report.terminal.parts import block, caution
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.display import percent, thousands
from packsim.report.words.names import printable


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
        Whether that temperature is assumed, not given.
    """
    title = f"{printable(scenario.name)}: present mat against {printable(name)}"
    parts: list[RenderableType] = [Text(title, "bold")]
    if not rows:
        return Group(*parts, Text("No stage of this line is an oven: there is no heat to compare."))
    other = printable(name)
    heads = ("<stage", "<warms", "cans", "mat\nnow", f"mat\n{other}", "total\nnow")
    table = WideTable("size", (*heads, f"total\n{other}", "saved"))
    for row in rows:
        table.add_row(*_cells(row))
    parts.append(block("Heat into cans and mat, kJ per minute", table))
    parts += [Text(line) for line in _sums(rows, other)]
    source = "assumed: no value given" if assumed else "as given"
    parts.append(
        Text(
            f"Cans and mat enter the first stage at {entry_C:g} °C ({source}) and every other "
            "stage at the temperature of the one before. Heat to dry off water, to warm air and "
            "through walls "
            "comes on top and is the same for both mats. A stage that cools saves nothing.",
            style="dim",
        )
    )
    return Group(*parts, caution())


def _sums(rows: tuple[HeatRow, ...], other: str) -> list[str]:
    lines = []
    for size in dict.fromkeys(row.size for row in rows):
        mine = [row.heat for row in rows if row.size == size]
        now = sum(heat.now.total_kJ_per_min for heat in mine)
        then = sum(heat.other.total_kJ_per_min for heat in mine)
        words = f"{printable(size)}: {thousands(now)} kJ per minute "
        if abs(then - now) < 1e-9 * now:
            lines.append(words + "with either mat")
            continue
        less = "less" if then <= now else "more"
        share = f"{percent(abs(then / now - 1.0), 0)} {less}, " if now > 0.0 else ""
        words += f"now, {thousands(then)} with {other}: {share}{abs(now - then) / 60.0:.1f} kW"
        lines.append(words)
    return lines


def _cells(row: HeatRow) -> list[str]:
    now, other = row.heat.now, row.heat.other
    values = (60.0 * now.cans_kW, 60.0 * now.mat_kW, 60.0 * other.mat_kW)
    totals = (now.total_kJ_per_min, other.total_kJ_per_min, 60.0 * row.heat.saved_kW)
    warms = "cools" if row.cools else f"{row.from_C:g} → {row.to_C:g} °C"
    shown = (thousands(value) for value in (*values, *totals))
    return [printable(row.size), printable(row.stage), warms, *shown]
