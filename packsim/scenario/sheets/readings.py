"""Readings of a site visit, typed into a sheet: each under the key of the file it is about.

A row is one input: its key, what it is and where for the person, the unit, one reading or many, how
well it was read. Rows left empty are still open. Nothing is guessed: what does not fit is refused
with its cell.
"""

from collections.abc import Iterable
from typing import Any, Final

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import key_path, written
from packsim.scenario.known.few_readings import odd_one
from packsim.scenario.known.measured import MOST
from packsim.scenario.sheets.cells import MOST_COMPLAINTS, Row, Sheet
from packsim.scenario.sheets.in_place import NOT_THERE, Loc, value_at
from packsim.scenario.sheets.key_places import declared, find_key
from packsim.scenario.sheets.reading import Reading, ReadingRow, unit_of
from packsim.scenario.sheets.typed import habits
from packsim.scenario.values.quantities import read_quantity
from packsim.scenario.values.readers import Range

COLUMNS: Final = ("key", "place", "what", "in_file", "unit", "reading", "plus_minus", "date", "by",
                  "remarks")  # fmt: skip
"""Columns of a sheet of readings, in any order; further readings stand in reading_2 and so on."""


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
    places: dict[str, Loc] = {}
    for row in sheet.rows:
        key = row.cells.get("key", "")
        if len(sheet.complaints) > MOST_COMPLAINTS:
            raise InputErrors(sheet.complaints)
        if not any(name.startswith("reading") for name in row.cells):
            blank.append(key)
            continue
        try:
            loc = places[key] = places.get(key) or find_key(key, data)
            _check_place(row, loc, data)
        except InputError as problem:
            cell = row.where(problem.key if problem.key in COLUMNS else "key")
            sheet.complaints.append(InputError(cell, problem.got, problem.allowed))
            continue
        ReadingRow(row, found.setdefault(loc, Reading(loc)), how, sheet.complaints).read()
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


def _of_one_thing(one: Reading) -> Iterable[InputError]:
    """Yield what several readings of one input cannot be: another unit, or another thing."""
    if len(one.texts) > MOST:
        got = f"{len(one.texts)} readings of {one.key}"
        yield InputError(one.cells[MOST], got, f"at most {MOST} of one input")
        return
    first = unit_of(one.texts[0])
    for text, cell in zip(one.texts, one.cells, strict=True):
        if unit_of(text) != first:
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
    far = odd_one(values)
    if far is not None:
        ends = (one.texts[values.index(end)] for end in (min(values), max(values)))
        allowed = f"readings of {one.key} that agree: is one in another unit or of another thing, "
        allowed += "or does a decimal comma stand where commas divide the cells?"
        yield InputError(one.cells[far], written(" and ".join(ends)), allowed)
