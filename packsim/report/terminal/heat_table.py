"""What another mat in the oven would save, as a table for the terminal."""

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.answers.mat_heat import HeatRow
from packsim.errors import printable
from packsim.line import Scenario
from packsim.report.terminal.parts import WideTable, block, caution
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, thousands


def heat_report(
    scenario: Scenario,
    rows: tuple[HeatRow, ...],
    name: str,
    entry_C: float,
    display: Display,
    *,
    assumed: bool,
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
    display : Display
        Unit system.
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
        table.add_row(*_cells(row, display))
    parts.append(block(f"Heat into cans and mat, {display.heat_value(0.0)[1]} per minute", table))
    parts += [Text(line) for line in _sums(rows, other, display)]
    source = "assumed: no value given" if assumed else "as given"
    parts.append(
        Text(
            f"Cans and mat enter the first stage at {display.temperature(entry_C)} ({source}) and "
            "every other stage at the temperature of the one before. Heat to dry off water, to "
            "warm air and through walls comes on top and is the same for both mats. A stage that "
            "cools saves nothing.",
            style="dim",
        )
    )
    return Group(*parts, caution())


def _sums(rows: tuple[HeatRow, ...], other: str, display: Display) -> list[str]:
    lines = []
    for size in dict.fromkeys(row.size for row in rows):
        mine = [row for row in rows if row.size == size]
        now = sum(60.0 * row.now.total_kW for row in mine)
        then = sum(60.0 * row.other.total_kW for row in mine)
        value, unit = display.heat_value(now)
        words = f"{printable(size)}: {thousands(value)} {unit} per minute "
        if abs(then - now) < 1e-9 * now:
            lines.append(words + "with either mat")
            continue
        less = "less" if then <= now else "more"
        share = f"{percent(abs(then / now - 1.0), 0)} {less}, " if now > 0.0 else ""
        saved = display.heat_flow(abs(now - then) / 60.0)
        then = display.heat_value(then)[0]
        lines.append(f"{words}now, {thousands(then)} with {other}: {share}{saved}")
    return lines


def _cells(row: HeatRow, display: Display) -> list[str]:
    now, other = row.now, row.other
    values = (now.cans_kW, now.mat_kW, other.mat_kW, now.total_kW, other.total_kW, row.saved_kW)
    warms = (
        "cools"
        if row.cools
        else f"{display.temperature(row.from_C)} → {display.temperature(row.to_C)}"
    )
    shown = (thousands(display.heat_value(60.0 * value)[0]) for value in values)
    return [printable(row.size), printable(row.stage), warms, *shown]
