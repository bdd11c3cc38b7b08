"""CSV that a spreadsheet shows as it is and never runs as a formula."""

import csv
import io
import math
from collections.abc import Iterable, Sequence

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
