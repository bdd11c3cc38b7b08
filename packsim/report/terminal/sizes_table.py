"""The catalogue as a table for the terminal."""

import math

from rich.console import Group
from rich.text import Text

from packsim.catalogue import ListedSize, Marked
from packsim.report.terminal.parts import WideTable
from packsim.report.words.display import Display

MARK_SIGNS = {"read": "", "computed": "*", "memory": "?"}
"""Shown after a value: nothing for one read in a source."""


def sizes_table(sizes: tuple[ListedSize, ...], display: Display) -> Group:
    """Return the catalogue as a table, what its signs mean, and the source of each row."""
    title = Text(f"Can sizes ({display.lengths_in})", style="bold")
    heads = ("<what", "body\ndiameter", "±", "finished\nheight", "trimmed\nheight", "body\ng")
    table = WideTable("size", (*heads, "balance\ndry", "balance\npool full"))
    for row, can in ((one.row, one.can) for one in sizes):
        table.add_row(
            row.id,
            row.label,
            _marked(row.diameter_mm, display),
            _marked(row.diameter_tol_mm, display),
            _marked(row.finished_height_mm, display),
            _marked(row.trimmed_height_mm, display),
            f"{can.mass_kg * 1000.0:.1f}*",
            f"{math.degrees(can.stance().balance_angle_rad):.1f}°*",
            f"{math.degrees(can.stance(1.0).balance_angle_rad):.1f}°*",
        )
    signs = Text(
        "no sign: read in the source;  *: computed;  ?: from memory, not confirmed\n"
        "grade of a source: A standard, patent or trade association; C web page, weak; - none"
    )
    sources = Text("\nSources\n", style="bold")
    rows = [one.row for one in sizes]
    lines = [Text(f"  {row.id}: grade {row.grade}; {row.source}") for row in rows]
    return Group(title, table, signs, sources, *lines)


def _marked(marked: Marked, display: Display) -> str:
    digits = 2 if display.units == "metric" else 3
    return f"{display.length_value(marked.value):.{digits}f}{MARK_SIGNS[marked.mark]}"
