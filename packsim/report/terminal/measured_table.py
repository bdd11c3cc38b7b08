"""What readings of a visit change in a scenario, for the terminal."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.report.terminal.parts import block, grid, points
from packsim.report.words.numbers import printable
from packsim.scenario.sheets.measured import Measured, NewValue
from packsim.study import Turned


def measured_report(found: Measured, turned: Sequence[Turned], where: str) -> Group:
    """Return what changed, which verdicts turned, and what is still open.

    Parameters
    ----------
    found : Measured
        The scenario with its readings.
    turned : sequence of Turned
        The verdicts they turn.
    where : str
        File the scenario is written to.
    """
    case = found.scenario
    parts: list[RenderableType] = [Text(printable(case.name), "bold")]
    if found.changes:
        rows = [("key", "before", "now"), *(_change(one) for one in found.changes)]
        parts.append(block(f"Written to {where}", grid(rows)))
    else:
        parts.append(Text("The file has these readings already; nothing changes."))
    many = len(case.sizes) * len(case.stages)
    if turned:
        said = [(f"{one.size}, {one.stage}", f"{one.before} → {one.after}") for one in turned]
        parts.append(block(f"Verdicts that turned: {len(turned)} of {many}", grid(said)))
    else:
        parts.append(Text(f"No verdict turned: all {many} are as they were."))
    parts.append(block("Still open", points(_open(found, where))))
    return Group(*parts)


def _change(one: NewValue) -> tuple[str, str, str]:
    readings = f"{one.readings} readings: " if one.readings > 1 else ""
    return one.key, printable(one.before) or "not in the file", readings + printable(one.after)


def _open(found: Measured, where: str) -> list[str]:
    """Return what the sheet leaves open, and what nobody has measured yet."""
    said = []
    if found.blank:
        said.append(f"rows left empty: {', '.join(printable(key) for key in found.blank)}")
    if found.same:
        said.append(f"as the file had it already: {', '.join(found.same)}")
    left = len(found.scenario.assumed)
    said.append(f"{left} values nobody measured; packsim study {where} --all lists them")
    return said
