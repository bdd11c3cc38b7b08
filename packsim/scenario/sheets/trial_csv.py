"""Trials from a spreadsheet: rows become the tables of a trial file, each value with its cell."""

import warnings
from contextlib import suppress
from typing import Any, Final

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import written
from packsim.scenario.places import Places
from packsim.scenario.renew import SCHEMA, OldNames, old_names
from packsim.scenario.sheets.cells import Row, Sheet, read_sheet
from packsim.scenario.sheets.typed import Habits, Unclear, habits
from packsim.scenario.tables import COLUMNS, OF_TRIAL, OF_WIDTH

_NEEDED: Final = ("trial", "date", "size", "cans", "clear_width", "tipped")
_TEXTS: Final = ("trial", "size", "line", "stage", "remarks")


def tables_from_csv(text: str, file: str) -> tuple[dict[str, Any], Places]:
    """Return the tables a sheet stands for, and the cell every value came from.

    The sheet has a header line, then one line for each trial and stage, as
    `packsim.scenario.sheets.cells.read_sheet` reads them. The tables are in the layout of a trial
    file; what is no number or date is left for the check to refuse. Raises `InputError` for a
    header, rows or cells that cannot be read, all of them at once, with row and column.
    """
    try:
        return _tables(text, file)
    except InputError as problem:
        raise problem.in_file(file) from None


def _tables(text: str, file: str) -> tuple[dict[str, Any], Places]:
    trials: list[dict[str, Any]] = []
    known: dict[tuple[Any, Any], int] = {}
    places = Places()
    sheet = read_sheet(text, "trials", COLUMNS, _NEEDED, old=old_names(("trials", "")))
    if sheet.renamed:
        said = "columns left, centre and right are now tipped_left, tipped_centre and tipped_right"
        warnings.warn(f"{file}: {said}", OldNames, stacklevel=2)
    typed = [text for row in sheet.rows for name, text in row.cells.items() if name not in _TEXTS]
    how = habits(typed, sheet.divider)
    for row in sheet.rows:
        values = {name: _value(name, row, how, sheet) for name in row.cells}
        at = known.setdefault((values.get("trial"), values.get("date")), len(trials))
        if at == len(trials):
            trials.append({"stages": []})
        path = f"trials[{at}]"
        places.setdefault(path, row.where())
        cells = {name: row.where(name) for name in ("", *row.columns)}
        try:
            _add(values, cells, trials[at], path, places)
        except InputError as problem:
            sheet.complaints += problem.each
    if sheet.complaints:
        raise InputErrors(sheet.complaints)
    if not trials:
        raise InputError("", "a sheet without a line filled in", "at least one trial")
    return {"schema": SCHEMA, "trials": trials}, places


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


def _value(column: str, row: Row, how: Habits, sheet: Sheet) -> Any:
    """Read a count, a plain width in mm or a date; anything else stays text, to be refused.

    What can be read in two ways is complained of in the sheet.
    """
    text = row.cells[column]
    try:
        if column == "cans" or column.startswith("tipped"):
            count = how.count(text)
            return text if count is None else count
        if column == "date":
            return how.day(text) or text
        if column == "clear_width":
            text = how.plain(text)
            with suppress(ValueError):
                return float(text)
    except Unclear as unclear:
        sheet.complaints.append(InputError(row.where(column), written(text), str(unclear)))
    return text
