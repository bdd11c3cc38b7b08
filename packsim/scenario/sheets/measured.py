"""What was measured on a visit, put into the scenario file it belongs to."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from packsim.errors import InputError, InputErrors
from packsim.line import Scenario
from packsim.scenario.complaints import written
from packsim.scenario.load import parse_scenario
from packsim.scenario.places import as_written
from packsim.scenario.sheets.cells import Sheet, read_sheet, sheet_text
from packsim.scenario.sheets.in_place import NOT_THERE, put_values, value_at
from packsim.scenario.sheets.reading import Reading
from packsim.scenario.sheets.readings import COLUMNS, read_readings
from packsim.scenario.text_files import current, read_text, shown

_MADE_FOR: Final = re.compile(r"\bscenario ([0-9a-f]{12})\b")


@dataclass(frozen=True, slots=True)
class NewValue:
    """One value of a file that a reading changes.

    Parameters
    ----------
    key : str
        Its key path.
    before : str
        How the file had it; empty where it had none.
    after : str
        How it has it now.
    readings : int
        Number of readings it is worked out from.
    """

    key: str
    before: str
    after: str
    readings: int


@dataclass(frozen=True, slots=True)
class Measured:
    """A scenario file with the readings of a sheet in it.

    Parameters
    ----------
    text : str
        The file, its comments kept.
    scenario : Scenario
        What it says.
    changes : tuple of NewValue
        What differs, in the order of the sheet.
    same : tuple of str
        Keys whose reading the file has already.
    blank : tuple of str
        Keys of the rows left empty.
    unlikely : tuple of str
        Readings that can be, but hardly are, each with its cell and what is usual.
    """

    text: str
    scenario: Scenario
    changes: tuple[NewValue, ...]
    same: tuple[str, ...]
    blank: tuple[str, ...]
    unlikely: tuple[str, ...] = ()


def load_measured(place: Path, readings: Path, digest: str = "") -> Measured:
    """Return a scenario file with the readings of a sheet in it; neither file is touched.

    Parameters
    ----------
    place : Path
        The scenario file.
    readings : Path
        The sheet, as `packsim visit` makes it, filled in and saved by any spreadsheet.
    digest : str
        `packsim.report.files.stamp.scenario_hash` of the file: a sheet that carries another one
        was made of another state of it, and then what the sheet says the file has must still be so.

    Returns
    -------
    Measured
        The new text, checked as any scenario.

    Raises
    ------
    InputError
        With everything that is wrong at once: of the sheet with row and column, of the file with
        its key.
    """
    text, data = current(read_text(place), shown(place), "a scenario")
    name = shown(readings)
    try:
        found, blank = _read(sheet_text(readings, "a sheet of readings"), data, digest)
    except InputError as problem:
        raise problem if problem.file else problem.in_file(name) from None
    changes = tuple(one for reading in found if (one := _change(reading, data)) is not None)
    changed = {one.key for one in changes}
    new = put_values(text, {r.loc: (r.value, r.remark) for r in found if r.key in changed})
    try:
        scenario = parse_scenario(new, shown(place), place.parent)
    except InputError as problem:
        raise InputErrors([_by_cell(one, found, name) for one in problem.each]) from None
    same = tuple(reading.key for reading in found if reading.key not in changed)
    return Measured(
        new, scenario, changes, same=same, blank=tuple(blank), unlikely=_unlikely(scenario, found)
    )


def _unlikely(scenario: Scenario, found: list[Reading]) -> tuple[str, ...]:
    """Return what to look at again among the readings."""
    cells = {reading.key: reading.cells[0] for reading in found}
    return tuple(
        f"{cells[one.key]}: {one.key}: {one.text} is unlikely; usual is {one.usual}"
        + (f"; {one.question}" if one.question else "")
        for one in scenario.unlikely
        if one.key in cells
    )


def _read(text: str, data: dict[str, Any], digest: str) -> tuple[list[Reading], list[str]]:
    """Return the readings of a sheet and the keys left empty, or complain of all that is wrong."""
    sheet = read_sheet(text, "readings", COLUMNS, ("key",), counted="reading")
    found, blank = read_readings(sheet, data)
    _check_same_state(sheet, data, found, digest)
    if sheet.complaints:
        raise InputErrors(sheet.complaints)
    if not found:
        raise InputError("", "a sheet without a reading", "at least one row filled in")
    return found, blank


def _change(reading: Reading, data: dict[str, Any]) -> NewValue | None:
    """Return what a reading changes in a file, or None."""
    old, new = value_at(data, reading.loc), reading.value
    if old == new:
        return None
    return NewValue(reading.key, said(old), said(new), len(reading.texts))


def said(value: Any) -> str:
    """Word what a file has: one value, readings in short, nothing where it has none."""
    if value is NOT_THERE:
        return ""
    if not isinstance(value, list):
        return written(value)
    return (
        ", ".join(map(str, value)) if len(value) < 4 else f"{value[0]}, {value[1]} ... {value[-1]}"
    )


def _check_same_state(
    sheet: Sheet, data: dict[str, Any], found: list[Reading], digest: str
) -> None:
    """Refuse readings whose value the file has changed since the sheet was made."""
    made_for = [match[1] for note in sheet.notes if (match := _MADE_FOR.search(note))]
    if digest and digest in made_for:
        return
    for reading in found:
        (was, cell), now = reading.was, as_written(data, reading.key, "")
        if was and was != now and value_at(data, reading.loc) != reading.value:
            got = f"{written(was)}, but the file has {now or 'nothing'} there now"
            allowed = (
                "the value of the file as the sheet was made; where the reading is newer than the "
                "change, empty the cell, else make a new sheet: packsim visit"
            )
            sheet.complaints.append(InputError(cell, got, allowed))


def _by_cell(problem: InputError, found: list[Reading], sheet: str) -> InputError:
    """Return a complaint of the new file with the cell its value came from, where it has one."""
    for reading in found:
        if problem.key == reading.key or problem.key.startswith(
            (f"{reading.key}[", f"{reading.key}.")
        ):
            at = re.fullmatch(r".*\[(\d+)\]", problem.key[len(reading.key) :])
            cell = reading.cells[int(at[1]) if at and int(at[1]) < len(reading.cells) else 0]
            return InputError(f"{cell}: {problem.key}", problem.got, problem.allowed, sheet)
    return problem
