"""A file of the user's as text, as TOML, as checked tables; whatever is wrong is one complaint."""

import re
import tomllib
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import (
    OLD_NAME,
    UNKNOWN,
    Unlikely,
    complaints,
    did_you_mean,
    written,
)
from packsim.scenario.renew import SCHEMA, OldNames, renewed

MAX_BYTES: Final = 2_000_000
"""Largest file read; a long line with full headers is under a tenth of it."""

_MAX_LINE: Final = 100_000
"""Longest line; the longest text a file may hold is shorter, escapes and all."""

_MAX_DOTS: Final = 2000
"""Most dots on a line; the reader's time grows with the square of a dotted key's parts."""

_HEADER: Final = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.\s-]+?)\s*\]\]?\s*(?:#.*)?$")
_PAIR: Final = re.compile(r"\s*([A-Za-z0-9_.-]+)\s*=\s*")
_FENCES: Final = ('"""', "'''")

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
    """Return complaints with the file, the values as it has them, and the place of their keys."""
    found = []
    for one in problem.each:
        got, asked = as_written(data, one.key, one.got), ""
        for key, span in one.likely.items() if isinstance(one, Unlikely) else ():
            question = did_you_mean(str(as_written(data, key, "")), *span)
            asked += f"; {'' if key == one.key else key + ' '}{question}" if question else ""
        found.append(InputError(one.key, got, one.allowed + asked, file, place(one.key)))
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


class Places(dict[str, str]):
    """Where each value of a file stands, by key path."""

    def of(self, path: str) -> str:
        """Return the place of a value, of what it lies in where it is missing, or nothing."""
        while path and path not in self:
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        return self.get(path, "")


class TomlPlaces(Places):
    r"""The places of one TOML text that could be read, by key path.

    Examples
    --------
    >>> places = TomlPlaces("a = 1\n[[t]]\nb = 2\n[[t]]\nb = [{ c = 3 }]\n")
    >>> places.of("t[1].b"), places.of("t[1].b[0].c"), places.of("t[0].d"), places.of("u")
    ('line 5, column 5', 'line 5, column 5', 'line 2, column 1', '')
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self._counts: dict[str, int] = {}
        here, fence = "", ""
        for number, line in enumerate(text.splitlines(), start=1):
            if fence:
                fence = "" if fence in line else fence
                continue
            heading, pair = _HEADER.match(line), _PAIR.match(line)
            if heading is not None:
                here = self._table(heading[2], new=heading[1] == "[[")
                self.setdefault(here, _cell(number, line.index("[")))
            elif pair is not None:
                self.setdefault(f"{here}.{pair[1]}".lstrip("."), _cell(number, pair.end()))
                fence = _opened(line[pair.end() :])

    def _table(self, name: str, *, new: bool) -> str:
        """Return the path of a table from its heading, counting the tables of a list."""
        parts, path = [part.strip() for part in name.split(".")], ""
        for i, part in enumerate(parts):
            path = f"{path}.{part}".lstrip(".")
            if new and i == len(parts) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path += f"[{self._counts[path]}]"
        return path


def _cell(line: int, before: int) -> str:
    return f"line {line}, column {before + 1}"


def _opened(value: str) -> str:
    """Return the fence of a text over several lines that starts and does not end here."""
    fence = next((mark for mark in _FENCES if value.startswith(mark)), "")
    return "" if fence and fence in value[3:] else fence
