"""Readings of a site visit, typed into a sheet: each under the key of the file it is about.

A row is one input: its key, what it is and where for the person, the unit, one reading or many, how
well it was read. Rows left empty are still open. Nothing is guessed: what does not fit is refused
with its cell.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import median_low
from typing import Any, Final

from pydantic_core import PydanticCustomError

from packsim.errors import InputError
from packsim.scenario.complaints import key_path, written
from packsim.scenario.fields import Range, refusal
from packsim.scenario.known.measured import MOST
from packsim.scenario.quantities import read_quantity
from packsim.scenario.sheets.cells import Row, Sheet
from packsim.scenario.sheets.in_place import NOT_THERE, Loc, value_at
from packsim.scenario.sheets.key_places import declared, find_key, is_truth
from packsim.scenario.sheets.typed import Habits, Unclear, habits

COLUMNS: Final = ("key", "place", "what", "in_file", "unit", "reading", "plus_minus", "date", "by",
                  "remarks")  # fmt: skip
"""Columns of a sheet of readings, in any order; further readings stand in reading_2 and so on."""

_AGREE: Final = 2.0
"""How many times the least of several readings the largest may be: more is no scatter."""

_PLUS_MINUS: Final = re.compile(r"±|\+/-|\+-")
_YES: Final = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(slots=True)
class Reading:
    """What a sheet says of one input.

    Parameters
    ----------
    loc : tuple
        Its place in the file.
    texts : list of str
        What was read, each with its unit, in the way a file has it.
    plus_minus : str
        How well, with its unit; empty where the sheet does not say. Several readings say it
        themselves, by how they differ.
    cells : list of str
        The cell of each.
    remark : str
        When, by whom, and what was remarked.
    was : tuple of str
        What the file had as the sheet was made, and the cell that says so; empty where none does.
    """

    loc: Loc
    texts: list[str] = field(default_factory=list)
    plus_minus: str = ""
    cells: list[str] = field(default_factory=list)
    remark: str = ""
    was: tuple[str, str] = ("", "")

    @property
    def key(self) -> str:
        """Key path as the file and complaints have it."""
        return key_path(self.loc)

    @property
    def value(self) -> Any:
        """What the file shall say: a number, a word, a text with a unit, or a list of readings."""
        bound = f" ± {self.plus_minus}" if self.plus_minus and len(self.texts) == 1 else ""
        said = [self.toml_value(f"{text}{bound}") for text in self.texts]
        return said[0] if len(said) == 1 else said

    def toml_value(self, text: str) -> Any:
        """Return one text as a file has it: a number without a unit and a truth are no texts."""
        if is_truth(self.loc):
            return _YES.get(text, text)
        kind = declared(self.loc).kind
        return text if kind is None or kind.unit or not _is_number(text) else float(text)


def read_readings(sheet: Sheet, data: dict[str, Any]) -> tuple[list[Reading], list[str]]:
    """Return the readings of a sheet, and the keys of the rows that are left empty.

    Parameters
    ----------
    sheet : Sheet
        As `packsim.scenario.sheets.cells.read_sheet` returns it; every complaint goes into it.
    data : dict
        The scenario file it is about, as TOML has it.

    Returns
    -------
    tuple
        One reading for each input, in the order of the sheet, and the keys of empty rows.
    """
    typed = [text for row in sheet.rows for name, text in row.cells.items() if _typed(name)]
    how = habits(typed, sheet.divider)
    found: dict[Loc, Reading] = {}
    blank: list[str] = []
    for row in sheet.rows:
        if not any(name.startswith("reading") for name in row.cells):
            blank.append(row.cells.get("key", ""))
            continue
        try:
            loc = find_key(row.cells.get("key", ""), data)
            _check_place(row, loc, data)
        except InputError as problem:
            cell = row.where(problem.key if problem.key in COLUMNS else "key")
            sheet.complaints.append(InputError(cell, problem.got, problem.allowed))
            continue
        _Row(row, found.setdefault(loc, Reading(loc)), how, sheet.complaints).read()
    read = [one for one in found.values() if one.texts]
    for one in read:
        sheet.complaints += _of_one_thing(one)
    return read, blank


def _typed(name: str) -> bool:
    """Whether a column is filled in by hand; the ± is there before."""
    return name == "date" or name.startswith("reading")


def _check_place(row: Row, loc: Loc, data: dict[str, Any]) -> None:
    """Refuse a row whose stage or size is another one than the key leads to."""
    place, name = row.cells.get("place", ""), value_at(data, (*loc[:2], "name"))
    if not place or name is NOT_THERE or place == name or place.startswith(f"{name},"):
        return
    allowed = f'"{name}", as {key_path(loc[:2])} of the scenario is called; if stages or sizes '
    allowed += "have changed since the sheet was made, make a new one: packsim visit"
    raise InputError("place", written(place), allowed)


@dataclass(slots=True)
class _Row:
    """Reads the cells of one row into the reading of its input."""

    row: Row
    reading: Reading
    how: Habits
    complaints: list[InputError]

    def read(self) -> None:
        """Add what the row says."""
        cells, reading = self.row.cells, self.reading
        for name in [name for name in cells if name.startswith("reading")]:
            for part in re.split(r"[;\r\n]+", cells[name]):
                text, *bound = [one.strip() for one in _PLUS_MINUS.split(part, maxsplit=1)]
                bound = [self._text(name, one) for one in bound]
                text = self._with_unit(self._text(name, text), *bound)
                if text and self._holds(name, text):
                    reading.texts.append(text)
                    reading.cells.append(self.row.where(name))
                    reading.plus_minus = self._with_unit(*bound) if bound else reading.plus_minus
        stated = self._text("plus_minus", _PLUS_MINUS.sub("", cells.get("plus_minus", "")).strip())
        reading.plus_minus = reading.plus_minus or self._with_unit(stated)
        reading.remark = reading.remark or self._remark()
        if "in_file" in cells:
            reading.was = cells["in_file"], self.row.where("in_file")

    def _text(self, name: str, text: str) -> str:
        """Return what a cell says in the way of a file, or complain."""
        one = declared(self.reading.loc)
        try:
            if one.kind is None:
                words = [*_YES, *getattr(one.reader, "words", ())]
                return next((word for word in words if word.lower() == text.lower()), text)
            return self.how.plain(text)
        except Unclear as unclear:
            self.complaints.append(InputError(self.row.where(name), written(text), str(unclear)))
            return ""

    def _with_unit(self, text: str, bound: str = "") -> str:
        """Return a number with its own unit, that of its ±, or that of the row."""
        kind = declared(self.reading.loc).kind
        if not text or kind is None or _unit_of(text):
            return text
        unit = _unit_of(bound) or self.row.cells.get("unit", "")
        return f"{text} {unit}".rstrip() if kind.unit or unit in ("%", "percent") else text

    def _holds(self, name: str, text: str) -> bool:
        """Complain of a text that is no such quantity, or no such word."""
        value = self.reading.toml_value(text)
        one = declared(self.reading.loc)
        try:
            if one.kind is not None and one.kind.unit and _is_number(text):
                raise refusal(f"a unit, here or in the column unit, such as {one.kind.unit}")
            if not is_truth(self.reading.loc):
                one.reader.read(value)
            elif not isinstance(value, bool):
                raise refusal("yes or no")
        except PydanticCustomError as refused:
            allowed = str((refused.context or {})["allowed"])
            self.complaints.append(InputError(self.row.where(name), written(text), allowed))
            return False
        return True

    def _remark(self) -> str:
        """Return when and by whom it was read, and what was remarked."""
        cells, day = self.row.cells, None
        if "date" in cells:
            allowed = "a date such as 2026-03-12, or nothing"
            try:
                day = self.how.day(cells["date"])
            except Unclear as unclear:
                allowed = str(unclear)
            if day is None:
                got = written(cells["date"])
                self.complaints.append(InputError(self.row.where("date"), got, allowed))
        when = "" if day is None else str(day)
        by = f"by {cells['by']}" if "by" in cells else ""
        told = ", ".join(filter(None, (" ".join(filter(None, (when, by))), cells.get("remarks"))))
        return " ".join(f"measured {told}".split()) if told else ""


def _is_number(text: str) -> bool:
    """Whether a text is a number in our way, without a unit."""
    return bool(text) and not _unit_of(text)


def _unit_of(text: str) -> str:
    """Return the unit of a text that starts with a number, or nothing."""
    return re.sub(r"^[-+\d\s./]*(?:[eE][+-]?\d+)?\s*", "", text)


def _of_one_thing(one: Reading) -> Iterable[InputError]:
    """Yield what several readings of one input cannot be: another unit, or another thing."""
    if len(one.texts) > MOST:
        got = f"{len(one.texts)} readings of {one.key}"
        yield InputError(one.cells[MOST], got, f"at most {MOST} of one input")
        return
    first = _unit_of(one.texts[0])
    for text, cell in zip(one.texts, one.cells, strict=True):
        if _unit_of(text) != first:
            allowed = f"readings of {one.key} in one unit; the first is {one.texts[0]}"
            yield InputError(cell, written(text), allowed)
            return
    yield from _far_apart(one)


def _far_apart(one: Reading) -> Iterable[InputError]:
    """Yield the reading farthest from the middle one if it is no reading of the same thing."""
    key = declared(one.loc)
    if key.kind is None or isinstance(key.reader, Range):
        return
    values = [read_quantity(one.toml_value(text), key.kind) for text in one.texts]
    middle = median_low(values)
    if min(values) > 0.0 and max(values) > _AGREE * min(values):
        far = max(range(len(values)), key=lambda i: abs(values[i] - middle))
        allowed = f"readings of {one.key} that agree, such as {one.texts[values.index(middle)]}; "
        allowed += "another unit, another thing, or a decimal comma where commas divide the cells?"
        yield InputError(one.cells[far], written(one.texts[far]), allowed)
