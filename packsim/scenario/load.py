"""A scenario file in, a `Scenario` out; all that is wrong with it is one error.

Below that, what every file of the user's passes: its text, its TOML, its checked tables.
"""

import math
import re
import tomllib
import warnings
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from packsim.catalogue import catalogue_sizes
from packsim.errors import InputError, InputErrors, one_line
from packsim.line import Scenario, Unlikely
from packsim.line.input_range import InputRange, Ranges
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import complaints, written
from packsim.scenario.places import Homes, TomlPlaces, placed, unlikely_at
from packsim.scenario.renew import SCHEMA, OldNames, renewed
from packsim.scenario.tables import FittedFile, FittedTable, ScenarioFile

MAX_BYTES: Final = 2_000_000
"""Largest file read; a long line with full headers is under a tenth of it."""

A_SCENARIO: Final = "a scenario file"

_MAX_LINE: Final = 100_000
"""Longest line; the longest text a file may hold is shorter, escapes and all."""

_MAX_DOTS: Final = 2000
"""Most dots on a line; the reader's time grows with the square of a dotted key's parts."""

_Table = TypeVar("_Table", bound=BaseModel)


class UnlikelyValue(UserWarning):
    """A value can be, but hardly is; the text asks about it."""


def load_scenario(path: str | Path, fitted: str | Path | None = None) -> Scenario:
    """Read a scenario file.

    Parameters
    ----------
    path : str or Path
        A TOML file in the layout of shared/scenario.schema.json.
    fitted : str or Path, optional
        File of kicks fitted to trials, instead of the one the scenario includes.

    Returns
    -------
    Scenario
        Checked and frozen, with everything assumed on record, and what to ask about in its
        ``unlikely``; `UnlikelyValue` is warned of for each of those.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    given = None if fitted is None else load_fitted(fitted)
    scenario = parse_scenario(read_text(place), shown(place), place.parent, given)
    for one in scenario.unlikely:
        said = f"{shown(place)}: {one.key}: {one.text} is unlikely; usual is {one.usual}"
        said += f"; {one.question}" if one.question else ""
        warnings.warn(said, UnlikelyValue, stacklevel=2)
    return scenario


def load_fitted(path: str | Path) -> dict[str, FittedTable]:
    """Read a file of kicks fitted to trials, a table ``[kicks.<duty>]`` each; return them by duty.

    Raises `InputError` as `load_scenario`.
    """
    file, text = shown(Path(path)), read_text(Path(path), "a file of fitted kicks")
    text, data = current(text, file, "fitted kicks", numbered=False)
    try:
        return checked_tables(data, FittedFile).kicks
    except InputError as problem:
        raise placed(problem, file, data, TomlPlaces(text).of) from None


def parse_scenario(
    text: str,
    file: str = "<text>",
    folder: Path | None = None,
    fitted: dict[str, FittedTable] | None = None,
) -> Scenario:
    """Read a scenario from text.

    Parameters
    ----------
    text : str
        What such a file holds.
    file : str
        Name for complaints.
    folder : Path, optional
        Where an included file is looked for; without it there can be none.
    fitted : dict of FittedTable, optional
        Kicks fitted to trials by duty, instead of an included file.

    Returns
    -------
    Scenario
        As `load_scenario`.

    Raises
    ------
    InputError
        As `load_scenario`.
    """
    text, data = current(text, file, "a scenario")
    whole, homes = data, Homes()
    try:
        if _says_once(data):
            from packsim.scenario.once import written_out

            whole, homes = written_out(data)
        tables = checked_tables(whole, ScenarioFile)
        homes.fits = True
        if homes.complaints:
            raise InputErrors(homes.complaints)
        given = _included(tables.include, folder) if fitted is None else fitted
        scenario = build_scenario(tables, given)
        ranges = Ranges(partial(_input_ranges, tables, given, scenario))
        return replace(scenario, unlikely=unlikely_values(scenario, whole), ranges=ranges)
    except InputError as problem:
        raise placed(homes.all_of(problem), file, data, TomlPlaces(text).of) from None


def _input_ranges(
    tables: ScenarioFile, fitted: dict[str, FittedTable], scenario: Scenario
) -> tuple[InputRange, ...]:
    """Return the ranges of a scenario; what works them out is loaded when they are asked for."""
    from packsim.scenario.known.input_ranges import input_ranges

    return input_ranges(tables, fitted, scenario)


def _says_once(data: dict[str, Any]) -> bool:
    """Whether a file says anything once for several places, see `packsim.scenario.once`."""
    stages = data.get("stages")
    rows = [row for row in stages if isinstance(row, dict)] if isinstance(stages, list) else []
    lists = [row["headers"] for row in rows if isinstance(row.get("headers"), list)]
    rows += [row for each in lists for row in each if isinstance(row, dict)]
    return bool({"header_patterns", "every_stage"} & data.keys()) or any(
        {"like", "below"} & row.keys()
        or row.get("side") == "both"
        or isinstance(row.get("from_stage_start"), list)
        for row in rows
    )


def _included(name: str | None, folder: Path | None) -> dict[str, FittedTable]:
    if name is None:
        return {}
    if folder is None:
        raise InputError("include", written(name), "nothing, in a text that is no file")
    return load_fitted(folder / name)


def unlikely_values(scenario: Scenario, data: dict[str, Any] | None = None) -> tuple[Unlikely, ...]:
    """Return the values of a scenario that can be, but hardly are.

    A stage shorter than a tenth of the usual one of the line, or longer than ten of it; a can
    wider, narrower, taller or lower than any known body by a quarter. ``data`` is what the file
    holds, for the values as it has them.
    """
    found = []
    lengths = [stage.length_mm for stage in scenario.stages]
    for i, stage in enumerate(scenario.stages):
        others = lengths[:i] + lengths[i + 1 :]
        usual = median(others) if others else stage.length_mm
        longest = 10.0 if len(others) > 1 else math.inf  # of two, the short one is asked about
        if not 0.1 < stage.length_mm / usual < longest:
            one = unlikely_at(
                f"stages[{i}].length", stage.length_mm, (0.3 * usual, 3.0 * usual), data
            )
            found.append(replace(one, stage=stage.name))
    rows = catalogue_sizes()
    for j, can in enumerate(scenario.sizes):
        for key, value, known in (
            ("diameter", can.diameter_mm, [row.diameter_mm.value for row in rows]),
            ("height", can.height_mm, [row.trimmed_height_mm.value for row in rows]),
        ):
            low, high = 0.8 * min(known), 1.25 * max(known)
            if not low <= value <= high:
                one = unlikely_at(f"sizes[{j}].{key}", value, (low, high), data)
                found.append(replace(one, size=can.name))
    return tuple(found)


def checked_tables(data: dict[str, Any], model: type[_Table]) -> _Table:
    """Return data as the tables a file may hold, or complain of all that is wrong, key by key."""
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        raise InputErrors(complaints(problem, model)) from None
    except RecursionError:
        raise InputError("", "tables nested very deep", "a few levels") from None


def read_text(place: Path, what: str = A_SCENARIO) -> str:
    """Return the text of a file (UTF-8, byte order mark dropped), or complain with its name."""
    raw = read_bytes(place, what)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        got = f"byte 0x{raw[problem.start]:02x} at place {problem.start}"
        raise InputError("", got, "text in UTF-8", file=shown(place)) from None


def read_bytes(place: Path, what: str) -> bytes:
    """Return what a file holds, or complain with its name."""
    file = shown(place)
    try:
        if not place.is_file():
            got = "no file of this name"
            if place.exists():
                got = "a folder" if place.is_dir() else "a device or a pipe"
            elif what == A_SCENARIO:
                what += "; `packsim new FILE` makes one"
            raise InputError("", got, what, file=file)
        with place.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as problem:
        if isinstance(problem, InputError):
            raise
        got = getattr(problem, "strerror", None) or str(problem)
        raise InputError("", got, "a file that can be read", file=file) from None
    if len(raw) > MAX_BYTES:
        raise InputError("", f"more than {MAX_BYTES} bytes", f"at most {MAX_BYTES}", file=file)
    return raw


def read_toml(text: str, file: str, what: str = "a scenario") -> dict[str, Any]:
    """Return the data of a TOML text, or complain with file and line."""
    if not text.strip():
        raise InputError("", "an empty file", what, file=file)
    if len(text) > MAX_BYTES:
        raise InputError("", f"{len(text)} characters", f"at most {MAX_BYTES}", file=file)
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > _MAX_LINE or line.count(".") > _MAX_DOTS:
            got = f"a line of {len(line)} characters"
            raise InputError(f"line {number}", got, "shorter lines and keys", file=file)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError("", "lists nested very deep", "a few levels", file=file) from None
    except ValueError as problem:  # also a whole number of more digits than Python converts
        found = re.fullmatch(r"(.*) \(at (.*)\)", str(problem), re.DOTALL)
        said, where = found.groups() if found else (str(problem), "")
        raise InputError(where, *_unread(text, said, where), file=file) from None


def _unread(text: str, said: str, where: str) -> tuple[str, str]:
    """Return the line a reader of TOML stopped at, and what it needs instead."""
    number = re.match(r"line (\d+)", where)
    if number is None:
        return written(said), "TOML"
    line = text.split("\n")[int(number[1]) - 1].strip() or said
    needs = f"TOML ({said[:1].lower()}{said[1:]})"
    if re.search(r"=\s*-?\d+,\d", line):
        needs += "; a number has a point before its decimals and no comma: 66.1"
    elif re.search(r"\d\"\"", line):
        needs += '; inches are written in: "2 1/8 in"'
    elif said.startswith(("Expected newline", "Invalid value")):
        needs += '; a text, or a number with its unit, stands in quotes: "66.1 mm"'
    return written(line), needs


def shown(place: Path) -> str:
    """Return a path fit to be printed."""
    return one_line(place, 1000)


def current(
    text: str, file: str, what: str, *, numbered: bool = True
) -> tuple[str, dict[str, Any]]:
    """Return a file's text and data in schema 2, whichever it is written in.

    ``numbered`` says whether such a file must say which schema it has. `OldNames` is warned of
    where the text was renewed; lines stay where they were. Raises `InputError` if the file is no
    TOML or its schema unknown.
    """
    data = read_toml(text, file, what)
    schema = data.get("schema", SCHEMA if numbered else 1)
    if type(schema) is not int or schema not in (1, SCHEMA):
        allowed = f"the whole number {SCHEMA}, or 1 as files had it before"
        raise InputError("schema", written(schema), allowed, file=file)
    if schema == SCHEMA:
        return text, data
    new = renewed(text, file)
    if not new.names and not numbered:
        return text, data
    warnings.warn(new.note(file), OldNames, stacklevel=2)
    return new.text, read_toml(new.text, file, what)
