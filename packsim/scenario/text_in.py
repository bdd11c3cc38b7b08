"""A file of the user's as text, as TOML, as checked tables; whatever is wrong is one complaint."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import OLD_NAME, UNKNOWN, complaints, written

__all__ = ["MAX_BYTES", "checked_tables", "placed", "read_text", "read_toml", "shown"]

MAX_BYTES: Final = 2_000_000
"""Largest file read; a long line with full headers is under a tenth of it."""

_MAX_LINE: Final = 100_000
"""Longest line; the longest text a file may hold is shorter, escapes and all."""

_MAX_DOTS: Final = 2000
"""Most dots on a line; the reader's time grows with the square of a dotted key's parts."""

_Table = TypeVar("_Table", bound=BaseModel)


def checked_tables(data: dict[str, Any], model: type[_Table]) -> _Table:
    """Return data as the tables a file may hold, or complain of all that is wrong, key by key."""
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        raise InputErrors(complaints(problem, model)) from None
    except RecursionError:
        raise InputError("", "tables nested very deep", "a few levels") from None


def placed(
    problem: InputError, file: str, data: dict[str, Any], place: Callable[[str], str]
) -> InputError:
    """Return complaints with the file, the values as it has them, and where they stand.

    Parameters
    ----------
    problem : InputError
        One complaint or several, by key path.
    file : str
        Name of the file.
    data : dict
        Its data.
    place : callable
        Line and column of a key path.
    """
    found = [
        InputError(one.key, as_written(data, one.key, one.got), one.allowed, file, place(one.key))
        for one in problem.each
    ]
    found.sort(key=lambda one: [int(number) for number in re.findall(r"[0-9]+", one.place)])
    return found[0] if len(found) == 1 else InputErrors(found)


def read_text(place: Path, what: str = "a scenario file") -> str:
    """Return the text of a file (UTF-8, byte order mark dropped), or complain with its name."""
    file = shown(place)
    try:
        if not place.is_file():
            got = "no file of this name"
            if place.exists():
                got = "a folder" if place.is_dir() else "a device or a pipe"
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
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        got = f"byte 0x{raw[problem.start]:02x} at place {problem.start}"
        raise InputError("", got, "text in UTF-8", file=file) from None


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
        raise InputError(where, written(said), "TOML", file=file) from None


def as_written(data: dict[str, Any], path: str, got: object) -> object:
    """Return the value at a key path as the file has it, or ``got`` if that says more."""
    here: Any = data
    for part in re.findall(r"[^.\[\]]+", path):
        try:
            here = here[int(part) if isinstance(here, list) else part]
        except (KeyError, IndexError, TypeError, ValueError):
            return got
    return got if got in (UNKNOWN, OLD_NAME) or isinstance(here, dict | list) else written(here)


def shown(place: Path) -> str:
    """Return a path fit to be printed."""
    text = str(place)
    return text if text.isprintable() else ascii(text)
