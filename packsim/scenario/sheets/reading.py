"""One input of a sheet of readings, and the row that says what was read of it."""

import re
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic_core import PydanticCustomError

from packsim.errors import InputError
from packsim.scenario.complaints import key_path, written
from packsim.scenario.known.measured import MOST, half_width, limits
from packsim.scenario.sheets.cells import Row
from packsim.scenario.sheets.in_place import Loc
from packsim.scenario.sheets.key_places import declared, is_truth
from packsim.scenario.sheets.typed import Habits, Unclear
from packsim.scenario.values.quantities import UnitMismatch, read_quantity
from packsim.scenario.values.readers import refusal

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


@dataclass(slots=True)
class ReadingRow:
    """Reads the cells of one row into the reading of its input."""

    row: Row
    reading: Reading
    how: Habits
    complaints: list[InputError]

    def read(self) -> None:
        """Add what the row says."""
        cells, reading = self.row.cells, self.reading
        names = [name for name in cells if name.startswith("reading")]
        if len(reading.texts) > MOST:  # refused whatever they are: these are only counted
            reading.texts += [cells[name] for name in names]
            return
        for name in names:
            for part in re.split(r"[;\r\n]+", cells[name]):
                text, *bound = [one.strip() for one in _PLUS_MINUS.split(part, maxsplit=1)]
                bound = [self._text(name, one) for one in bound]
                text = self._with_unit(self._text(name, text), *bound)
                if text and self._holds(name, text):
                    reading.texts.append(text)
                    reading.cells.append(self.row.where(name))
                    reading.plus_minus = self._with_unit(*bound) if bound else reading.plus_minus
        reading.plus_minus = reading.plus_minus or self._stated()
        reading.remark = reading.remark or self._remark()
        if "in_file" in cells:
            reading.was = cells["in_file"], self.row.where("in_file")

    def _stated(self) -> str:
        """Return the ± of the row; none where it would reach beyond what the quantity can be."""
        text = _PLUS_MINUS.sub("", self.row.cells.get("plus_minus", "")).strip()
        kind, read = declared(self.reading.loc).kind, self.reading.texts
        if not text or kind is None:
            return ""
        text = self._with_unit(self._text("plus_minus", text))
        try:
            half = half_width(text, kind)
        except UnitMismatch:
            half = 0.0
        if not half > 0.0:
            allowed = f"how far off a reading may be, such as 1 {kind.unit}, or nothing"
            self.complaints.append(InputError(self.row.where("plus_minus"), text, allowed))
            return ""
        if len(read) != 1:
            return ""
        value, (least, most) = read_quantity(self.reading.toml_value(read[0]), kind), limits(kind)
        return text if least <= value - half and value + half <= most else ""

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
        if not text or kind is None or unit_of(text):
            return text
        unit = unit_of(bound) or self.row.cells.get("unit", "")
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
    return bool(text) and not unit_of(text)


def unit_of(text: str) -> str:
    """Return the unit of a text that starts with a number, or nothing."""
    return re.sub(r"^[-+\d\s./]*(?:[eE][+-]?\d+)?\s*", "", text)
