"""A sheet as a spreadsheet saved it: its encoding, what divides its cells, rows with their names.

Spreadsheets save text in UTF-8 with or without a mark, in UTF-16, or in the code page of their
country; cells divided by commas, semicolons or tabs; rows made longer by empty cells. All of these
are read. A cell is named as the spreadsheet names it: its row, and the letter of its column.
"""

import csv
import difflib
import io
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Final

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import written
from packsim.scenario.text_files import read_bytes, shown

_BLANK: Final = " \t\r\n\u00a0\u202f\ufeff"
_DIVIDERS: Final = ",;\t"
MOST_COMPLAINTS: Final = 1000
"""With more complaints the rest of a sheet is left unread: they are alike."""

_MOST_CELLS: Final = 2000
"""Cells of a row; a sheet of a visit has twenty."""

_WORKBOOKS: Final = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How files of spreadsheets begin that are no text."""


@dataclass(frozen=True)
class Row:
    """One filled row of a sheet.

    Parameters
    ----------
    number : int
        Its row in the spreadsheet, from 1.
    cells : dict of str
        What stands in it, by name of the column; empty cells are left out.
    columns : dict of str
        The letter of each column the sheet has, by name.
    """

    number: int
    cells: dict[str, str]
    columns: dict[str, str]

    def where(self, name: str = "") -> str:
        """Return the name of a cell, or of the row where the sheet has no such column."""
        if name not in self.columns:
            return f"row {self.number}"
        return f"row {self.number}, column {self.columns[name]} ({name})"


@dataclass
class Sheet:
    """The rows of a sheet below its header.

    Parameters
    ----------
    divider : str
        What divides its cells.
    rows : list of Row
        Those with anything in them.
    notes : list of str
        What its lines after a # say.
    renamed : list of str
        Columns whose header has a name of older versions, by the new name.
    complaints : list of InputError
        What is wrong with single rows.
    """

    divider: str
    rows: list[Row] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    renamed: list[str] = field(default_factory=list)
    complaints: list[InputError] = field(default_factory=list)


def sheet_text(place: Path, what: str) -> str:
    """Return the text of a sheet in the encoding it was saved in; `InputError` if there is none.

    Without a mark that says UTF-16 it is told by its zero bytes. What is not UTF-8 is read in the
    western code page of spreadsheets, which has ±, °, µ and fractions where its neighbours do too.
    """
    raw = read_bytes(place, what)
    if raw.startswith(_WORKBOOKS):
        raise InputError("", "a workbook", f"{what} saved as CSV", file=shown(place))
    encoding = "utf-8-sig"
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encoding = "utf-16"
    elif raw and raw[1::2].count(0) > len(raw) // 4:
        encoding = "utf-16-le"
    elif raw[0::2].count(0) > len(raw) // 4:
        encoding = "utf-16-be"
    for one in (encoding, "cp1252") if encoding == "utf-8-sig" else (encoding,):
        try:
            return raw.decode(one)
        except UnicodeDecodeError as problem:
            got = f"byte 0x{raw[problem.start]:02x} at place {problem.start}"
    raise InputError("", got, "a sheet saved as CSV (UTF-8)", file=shown(place))


def read_sheet(
    text: str,
    what: str,
    columns: Sequence[str],
    needed: Sequence[str] = (),
    *,
    counted: str = "",
    old: Mapping[str, str] = MappingProxyType({}),
) -> Sheet:
    """Return the rows of a sheet whose first line names its columns.

    Lines that start with # and empty lines are passed over; commas, semicolons or tabs divide.

    Parameters
    ----------
    text : str
        The sheet.
    what : str
        What a sheet of this sort has in its rows, for complaints.
    columns, needed : sequence of str
        Names a column may have, in any order, and those without which the sheet is refused. Large
        letters and spaces for underscores do not matter.
    counted : str
        Name that several columns may have, with a number after it, such as ``reading_2``.
    old : mapping of str
        The new name by names that columns had before.

    Raises
    ------
    InputError
        If no row or no usable header is found; with every complaint of the header at once.
    """
    records = _records(text)
    sheet = Sheet(records[0][1] if records else ",")
    names: list[str] | None = None
    for number, _, texts in records:
        if texts[0].startswith("#"):
            sheet.notes.append(" ".join(filter(None, texts)).lstrip("# "))
        elif not any(texts):
            continue
        elif names is None:
            said = ["_".join(text.lower().split()) for text in texts]
            names = [old.get(name, name) for name in said]
            sheet.renamed += [name for name in names if name and name not in said]
            _check_header(names, number, (columns, needed, counted))
            letters = {name: _letter(i) for i, name in enumerate(names) if name}
        else:
            sheet.rows.append(_row(number, texts, names, letters, sheet.complaints))
            if len(sheet.complaints) > MOST_COMPLAINTS:  # so many are all alike
                raise InputErrors(sheet.complaints)
    if names is None:
        raise InputError("", "an empty sheet", f"a header line and {what}")
    return sheet


def _records(text: str) -> list[tuple[int, str, list[str]]]:
    """Return row number, divider and cells of every filled line, blank signs stripped."""
    divider = _divider(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=divider, strict=True)
    found: list[tuple[int, str, list[str]]] = []
    number = 0
    try:
        for number, texts in enumerate(reader, start=1):
            if number == 1 and texts and texts[0].lower().startswith("sep="):
                continue
            if len(texts) > _MOST_CELLS:
                allowed = f"at most {_MOST_CELLS}"
                raise InputError(f"row {number}", f"{len(texts)} cells", allowed)
            if any(texts):  # a sheet may end in a million empty rows
                found.append((number, divider, [_bare(one) for one in texts]))
    except csv.Error as problem:
        where = f"row {number + 1}"
        raise InputError(where, str(problem), "a row of a sheet, quotation marks closed") from None
    return found


def _divider(text: str) -> str:
    """Return what divides the header: what a first line ``sep=;`` says, or the sign it has.

    Names of columns have none of them. With two, a spreadsheet that divides by semicolons has
    opened a sheet of commas, each row in one cell, and saved it so: that is refused.
    """
    for number, line in enumerate(text.splitlines(), start=1):
        if line.lower().startswith("sep=") and line[4:5] in tuple(_DIVIDERS):
            return line[4:5]
        if line.strip(_BLANK + _DIVIDERS + '"') and not line.lstrip(_BLANK + '"').startswith("#"):
            met = [sign for sign in _DIVIDERS if sign in line]
            if len(met) > 1:
                raise InputError(
                    f"row {number}",
                    "names divided by commas and semicolons, or tabs",
                    "one of them: the sheet was opened with each row in one cell. Import it as "
                    "text divided by commas (Data, From text), fill it in, save it as CSV",
                )
            return met[0] if met else ","
    return ","


def _bare(cell: str) -> str:
    """Return what a cell holds, without blanks around it nor the sign that kept it a text.

    UTF-8 that a spreadsheet took for the western code page, ``wÃ¤sche``, is read as it was.
    """
    text = cell.strip(_BLANK)
    text = text[2:-1].strip(_BLANK) if text.startswith('="') and text.endswith('"') else text
    if not text.isascii():
        with suppress(UnicodeError):
            return text.encode("cp1252").decode("utf-8")
    return text


def _check_header(
    names: list[str], number: int, known: tuple[Sequence[str], Sequence[str], str]
) -> None:
    """Complain of all that is wrong with the names of the columns."""
    columns, needed, counted = known
    listed = ", ".join((*columns, f"{counted}_1") if counted else columns)
    found: list[InputError] = []
    for i, name in enumerate(names):
        where = f"row {number}, column {_letter(i)}"
        if name and name not in columns and not (counted and _is_counted(name, counted)):
            near = difflib.get_close_matches(name, columns, n=1)
            hint = f"the column {near[0]}, or another of " if near else "one of the columns "
            got = f"an unknown column {written(name)}"
            found.append(InputError(where, got, hint + listed))
        elif name and name in names[:i]:
            found.append(InputError(where, f"{name} twice", "each column once"))
    lacking = [name for name in needed if name not in names]
    if lacking:
        got = f"no column {', '.join(lacking)}"
        found.append(InputError(f"row {number}", got, "the columns " + ", ".join(needed)))
    if found:
        raise InputErrors(found)


def _is_counted(name: str, counted: str) -> bool:
    return name.startswith(counted) and name[len(counted) :].lstrip("_").isdecimal()


def _row(
    number: int,
    texts: list[str],
    names: list[str],
    letters: dict[str, str],
    complaints: list[InputError],
) -> Row:
    """Return a row; what stands beyond the header, or under no name, is complained of."""
    for i, text in enumerate(texts):
        if text and (i >= len(names) or not names[i]):
            where = f"row {number}, column {_letter(i)}"
            allowed = f"nothing, or a name in the header; it has {len(names)} columns"
            complaints.append(InputError(where, written(text), allowed))
    cells = {name: text for name, text in zip(names, texts, strict=False) if name and text}
    return Row(number, cells, letters)


def _letter(i: int) -> str:
    """Return the letters of a column counted from 0: A to Z, AA and so on."""
    text = ""
    while i >= 0:
        text, i = chr(ord("A") + i % 26) + text, i // 26 - 1
    return text
