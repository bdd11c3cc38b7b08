"""A scenario file in, a `Scenario` out; whatever is wrong with it is one `InputError`."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario.build import build_scenario
from packsim.scenario.complaints import complaint, written
from packsim.scenario.tables import SCHEMA, FittedFile, FittedTable, ScenarioFile

__all__ = ["MAX_BYTES", "load_scenario", "parse_scenario"]

MAX_BYTES: Final = 2_000_000
"""Largest file read; a long line with full headers is under a tenth of it."""

_MAX_LINE: Final = 100_000
"""Longest line; the longest text a file may hold is shorter, escapes and all."""

_MAX_DOTS: Final = 2000
"""Most dots on a line; the reader's time grows with the square of a dotted key's parts."""

_Table = TypeVar("_Table", bound=BaseModel)


def load_scenario(path: str | Path) -> Scenario:
    """Read a scenario file.

    Parameters
    ----------
    path : str or Path
        A TOML file in the layout of shared/scenario.schema.json.

    Returns
    -------
    Scenario
        Checked and frozen, with everything assumed on record.

    Raises
    ------
    InputError
        Naming the file, the key path, what was there and what is allowed.
    """
    place = Path(path)
    return parse_scenario(_read(place), file=_shown(place), folder=place.parent)


def parse_scenario(text: str, file: str = "<text>", folder: Path | None = None) -> Scenario:
    """Read a scenario from text.

    Parameters
    ----------
    text : str
        What such a file holds.
    file : str
        Name for complaints.
    folder : Path, optional
        Where an included file is looked for; without it there can be none.

    Returns
    -------
    Scenario
        As `load_scenario`.

    Raises
    ------
    InputError
        As `load_scenario`.
    """
    data = _toml(text, file)
    if "schema" in data and (type(data["schema"]) is not int or data["schema"] != SCHEMA):
        allowed = f"the whole number {SCHEMA}, the only layout there is so far"
        raise InputError("schema", written(data["schema"]), allowed, file=file)
    tables = _tables(data, ScenarioFile, file)
    fitted = _fitted(tables.include, file, folder)
    try:
        return build_scenario(tables, fitted)
    except InputError as problem:
        got = _as_written(data, problem.key, problem.got)
        raise InputError(problem.key, got, problem.allowed, file=file) from None


def _fitted(name: str | None, file: str, folder: Path | None) -> dict[str, FittedTable]:
    if name is None:
        return {}
    if folder is None:
        raise InputError("include", written(name), "nothing, in a text that is no file", file=file)
    place = folder / name
    shown = _shown(place)
    return _tables(_toml(_read(place), shown), FittedFile, shown).kicks


def _tables(data: dict[str, Any], model: type[_Table], file: str) -> _Table:
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        raise complaint(problem, model, file) from None
    except RecursionError:
        raise InputError("", "tables nested very deep", "a few levels", file=file) from None


def _read(place: Path) -> str:
    file = _shown(place)
    try:
        if not place.is_file():
            got = "no file of this name"
            if place.exists():
                got = "a folder" if place.is_dir() else "a device or a pipe"
            raise InputError("", got, "a scenario file", file=file)
        with place.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as problem:
        if isinstance(problem, InputError):
            raise
        got = getattr(problem, "strerror", None) or str(problem)
        raise InputError("", got, "a file that can be read", file=file) from None
    if len(raw) > MAX_BYTES:
        raise InputError("", f"more than {MAX_BYTES} bytes", f"at most {MAX_BYTES}", file=file)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        got = f"byte 0x{raw[problem.start]:02x} at place {problem.start}"
        raise InputError("", got, "text in UTF-8", file=file) from None


def _toml(text: str, file: str) -> dict[str, Any]:
    if not text.strip():
        raise InputError("", "an empty file", "a scenario", file=file)
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
        raise InputError(where, written(said), "TOML", file=file) from None


def _as_written(data: dict[str, Any], key: str, got: object) -> object:
    """Return the value at a key path as the file has it, or ``got`` if it is not there."""
    here: Any = data
    for part in re.findall(r"[^.\[\]]+", key):
        try:
            here = here[int(part) if isinstance(here, list) else part]
        except (KeyError, IndexError, TypeError, ValueError):
            return got
    return got if isinstance(here, dict | list) else written(here)


def _shown(place: Path) -> str:
    text = str(place)
    return text if text.isprintable() else ascii(text)
