"""Trials from a spreadsheet: rows become the tables of a trial file, each value with its cell."""

import csv
import datetime as dt
import difflib
import io
import warnings
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, Final

from packsim.errors import InputError
from packsim.scenario.complaints import written
from packsim.scenario.places import Places
from packsim.scenario.renew import SCHEMA, OldNames, new_name
from packsim.scenario.tables import COLUMNS, OF_TRIAL, OF_WIDTH

_NEEDED: Final = ("trial", "date", "size", "cans", "clear_width", "tipped")


def tables_from_csv(text: str, file: str) -> tuple[dict[str, Any], Places]:
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


def _tables(text: str, file: str) -> tuple[dict[str, Any], Places]:
    trials: list[dict[str, Any]] = []
    known: dict[tuple[Any, Any], int] = {}
    places = Places()
    for line, values, cells in _rows(text, file):
        at = known.setdefault((values.get("trial"), values.get("date")), len(trials))
        if at == len(trials):
            trials.append({"stages": []})
        path = f"trials[{at}]"
        places.setdefault(path, line)
        _add(values, cells | {"": line}, trials[at], path, places)
    if not trials:
        raise InputError("", "a sheet without a line filled in", "at least one trial")
    return {"schema": SCHEMA, "trials": trials}, places


def _rows(text: str, file: str) -> Iterator[tuple[str, dict[str, Any], dict[str, str]]]:
    """Yield the name of each line, what it holds by column, and the name of each column's cell."""
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
        filled = {name: part.strip() for name, part in zip(names, texts, strict=False)}
        values = {name: _value(name, filled[name]) for name in places if filled.get(name)}
        cells = {name: f"line {number}, column {at} ({name})" for name, at in places.items()}
        yield f"line {number}", values, cells


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


def _add(
    values: dict[str, Any], cells: dict[str, str], trial: dict[str, Any], path: str, places: Places
) -> None:
    """Put a line of a trial into it: what every line may say, and what it says of a stage."""
    places.setdefault(f"{path}.name", cells["trial"])
    trial.setdefault("name", values.get("trial", ""))
    for column in OF_TRIAL:
        cell = cells.get(column, path)
        places.setdefault(f"{path}.{column}", cell)
        if column not in values:
            continue
        if trial.setdefault(column, values[column]) != values[column]:
            allowed = f"{written(trial[column])} as in the first line of this trial, or nothing"
            raise InputError(cell, written(values[column]), allowed)
        places[f"{path}.{column}"] = cell
    if "remarks" in values:
        trial["remarks"] = "; ".join(filter(None, (trial.get("remarks", ""), values["remarks"])))
    target = trial  # without a stage width and counts are those of the whole trial
    if "stage" in values:
        path = f"{path}.stages[{len(trial['stages'])}]"
        target = {"stage": values["stage"]}
        trial["stages"].append(target)
        places |= {path: cells[""], f"{path}.stage": cells["stage"]}
    for column in OF_WIDTH:
        if column in target and column in values:
            raise InputError(cells[column], written(values[column]), "one line for the whole trial")
        if column in values:
            target[column], places[f"{path}.{column}"] = values[column], cells[column]


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
