"""Trials from a spreadsheet: rows become the tables of a trial file, each value with its cell."""

import csv
import datetime as dt
import difflib
import io
import warnings
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Final

from packsim.errors import InputError
from packsim.scenario.complaints import written
from packsim.scenario.renew import SCHEMA, OldNames, new_name
from packsim.scenario.tables import COLUMNS, OF_TRIAL, OF_WIDTH

_NEEDED: Final = ("trial", "date", "size", "cans", "clear_width", "tipped")


@dataclass(slots=True)
class Cells:
    """Where each value of the tables stands: ``line 3, column 5 (cans)`` by key path."""

    names: dict[str, str] = field(default_factory=dict)

    def of(self, key: str) -> str:
        """Return the cell of a key path, that of the nearest table around it, or the key."""
        path = key
        while path:
            if path in self.names:
                return self.names[path]
            path = path[: max(path.rfind("."), path.rfind("["))] if "." in path else ""
        return key


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of the sheet: its number, its texts by column, the place of each column."""

    number: int
    texts: dict[str, str]
    places: dict[str, int]

    def cell(self, column: str) -> str:
        """Return what to call one cell."""
        return f"line {self.number}, column {self.places[column]} ({column})"


def tables_from_csv(text: str, file: str) -> tuple[dict[str, Any], Cells]:
    """Return the tables a sheet stands for, and the cell every value came from.

    The sheet has a header line, then one line for each trial and stage. Lines that start with # and
    empty lines are passed over; commas, semicolons or tabs divide. The tables are in the layout of
    a trial file; what is no number or date is left for the check to refuse. Raises `InputError` for
    a header or a line that cannot be read, with its line and column.
    """
    try:
        return _tables(text, file)
    except InputError as problem:
        raise problem.in_file(file) from None


def _tables(text: str, file: str) -> tuple[dict[str, Any], Cells]:
    trials: list[dict[str, Any]] = []
    known: dict[tuple[str, str], int] = {}
    cells = Cells()
    for row in _rows(text, file):
        at = known.setdefault((row.texts["trial"], row.texts["date"]), len(trials))
        if at == len(trials):
            trials.append({"stages": []})
        _add(row, trials[at], f"trials[{at}]", cells)
    if not trials:
        raise InputError("", "a sheet without a line filled in", "at least one trial")
    return {"schema": SCHEMA, "trials": trials}, cells


def _rows(text: str, file: str) -> Iterator[_Row]:
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip(" ,;\t") and not line.lstrip('" ').startswith("#")
    ]
    if not lines:
        raise InputError("", "an empty sheet", "a header line and trials")
    first, header = lines[0]
    mark = max(",;\t", key=header.count)
    old = [name.strip().lower() for name in _split(header, mark, first)]
    names = [new_name(("trials", name)) or name for name in old]
    if names != old:
        said = "columns left, centre and right are now tipped_left, tipped_centre and tipped_right"
        warnings.warn(f"{file}: {said}", OldNames, stacklevel=2)
    places = _places(names, first)
    for number, line in lines[1:]:
        texts = _split(line, mark, number)
        if any(texts[len(names) :]):
            where = f"line {number}, column {len(names) + 1}"
            raise InputError(where, f"{len(texts)} values", f"{len(names)} as in the header")
        padded = [part.strip() for part in texts] + [""] * len(names)
        found = {column: padded[place - 1] for column, place in places.items()}
        yield _Row(number, dict.fromkeys(COLUMNS, "") | found, places)


def _split(line: str, mark: str, number: int) -> list[str]:
    try:
        return next(csv.reader(io.StringIO(line), delimiter=mark, strict=True))
    except csv.Error as problem:
        raise InputError(f"line {number}", str(problem), "a line of a sheet") from None


def _places(names: list[str], number: int) -> dict[str, int]:
    """Return the place of each column of a header, counted from 1."""
    places: dict[str, int] = {}
    for place, name in enumerate(names, start=1):
        where = f"line {number}, column {place}"
        if not name:
            continue
        if name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, n=1)
            hint = f"the column {near[0]}, or another of " if near else "one of the columns "
            got = f"an unknown column {written(name)}"
            raise InputError(where, got, hint + ", ".join(COLUMNS))
        if name in places:
            raise InputError(where, f"{name} twice", "each column once")
        places[name] = place
    for name in _NEEDED:
        if name not in places:
            allowed = "the columns " + ", ".join(_NEEDED)
            raise InputError(f"line {number}", f"no column {name}", allowed)
    return places


def _add(row: _Row, trial: dict[str, Any], path: str, cells: Cells) -> None:
    """Put one line into its trial: into the trial itself, or into one of its stages."""
    values = {column: _value(column, text) for column, text in row.texts.items() if text}
    cells.names.setdefault(path, f"line {row.number}")
    cells.names.setdefault(f"{path}.name", row.cell("trial"))
    trial.setdefault("name", values.get("trial", ""))
    for column in OF_TRIAL:
        cell = row.cell(column) if column in row.places else path
        cells.names.setdefault(f"{path}.{column}", cell)
        if column not in values:
            continue
        if trial.setdefault(column, values[column]) != values[column]:
            allowed = f"{written(trial[column])} as in the first line of this trial, or nothing"
            raise InputError(cell, written(values[column]), allowed)
        cells.names[f"{path}.{column}"] = cell
    target, at = trial, path
    if "stage" in values:
        at = f"{path}.stages[{len(trial['stages'])}]"
        target = {"stage": values["stage"]}
        trial["stages"].append(target)
        cells.names |= {at: f"line {row.number}", f"{at}.stage": row.cell("stage")}
    for column in OF_WIDTH:
        if column not in values:
            continue
        cell = cells.names[f"{at}.{column}"] = row.cell(column)
        if column in target:
            raise InputError(cell, written(values[column]), "one line for the whole trial")
        target[column] = values[column]
    if "remarks" in values:
        trial["remarks"] = "; ".join(filter(None, (trial.get("remarks", ""), values["remarks"])))


def _value(column: str, text: str) -> Any:
    """Read a count, a plain width in mm or a date; anything else stays text, to be refused."""
    with suppress(ValueError):
        if column == "cans" or column.startswith("tipped"):
            return int(text.replace(" ", "").replace("\u202f", ""))
        if column == "clear_width":
            return float(text)
        if column == "date":
            return dt.date.fromisoformat(text)
    return text
