"""What readings of a visit change in a scenario, for the terminal."""

import re
from collections import Counter
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.errors import printable
from packsim.findings import quoted
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.report.terminal.parts import block, grid, points
from packsim.report.words.display import Display
from packsim.report.words.input_words import range_words
from packsim.scenario.sheets.measured import Measured, NewValue
from packsim.study import Turned


def measured_report(
    before: Scenario, found: Measured, turned: Sequence[Turned], where: str, display: Display
) -> Group:
    """Return what changed, which verdicts turned, and what is still open.

    Parameters
    ----------
    before : Scenario
        The line as the file had it.
    found : Measured
        The scenario with its readings.
    turned : sequence of Turned
        The verdicts they turn.
    where : str
        File the scenario is written to.
    display : Display
        Unit system.
    """
    case = found.scenario
    parts: list[RenderableType] = [Text(printable(case.name), "bold")]
    if found.changes:
        was, now = ({each.key: each for each in line.ranges} for line in (before, case))
        rows = [_change(one, was.get(one.key), now.get(one.key), display) for one in found.changes]
        parts.append(block(f"Written to {where}", grid([("key", "before", "now"), *rows])))
    else:
        parts.append(Text("The file has these readings already; nothing changes."))
    if found.unlikely:
        parts.append(block("Look again", points(map(printable, found.unlikely))))
    many = len(case.sizes) * len(case.stages)
    if turned:
        said = [(f"{one.size}, {one.stage}", f"{one.before} → {one.after}") for one in turned]
        parts.append(block(f"Verdicts that turned: {len(turned)} of {many}", grid(said)))
    else:
        parts.append(Text("No verdict turned." if many > 1 else "The verdict stands."))
    parts.append(block("Still open", points(_open(found, where))))
    return Group(*parts)


def _change(
    one: NewValue, was: InputRange | None, now: InputRange | None, display: Display
) -> tuple[str, str, str]:
    """Return key, before and now: how well it is known where the line has an input of that key."""
    before = printable(one.before) or "not in the file"
    return (
        one.key,
        before if was is None else range_words(was, display),
        printable(one.after) if now is None else range_words(now, display),
    )


def _open(found: Measured, where: str) -> list[str]:
    """Return what the sheet leaves open, and what nobody has measured yet."""
    said = []
    if found.same:
        said.append(f"as the file had it already: {', '.join(found.same)}")
    if found.blank:
        names = Counter(
            re.sub(r".*\.|\[\d+\]$", "", re.sub(r"\[\d+\]$", "", k)) for k in found.blank
        )
        listed = ", ".join(f"{name} {n}" if n > 1 else name for name, n in names.items())
        said.append(f"rows left empty: {printable(listed)}")
    known = Counter(one.kind for one in found.scenario.ranges)
    listed = f"{known['measured']} measured, {known['given']} given without a range, "
    listed += f"{known['catalogue']} from the catalogue, {known['assumed']} assumed"
    said.append(f"of {known.total()} inputs: {listed}")
    file = quoted(where)
    said.append(f"what decides now: packsim doubt {file}")
    said.append(f"a new sheet, of what is still open: packsim visit {file} -o visit.html")
    return said
