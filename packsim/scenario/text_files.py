"""What every file of the user's passes: its name, its text, its TOML, the schema it has."""

import re
import tomllib
import warnings
from pathlib import Path
from typing import Any, Final

from packsim.errors import InputError, one_line
from packsim.scenario.complaints import written
from packsim.scenario.renew import SCHEMA, OldNames, renewed

MAX_BYTES: Final = 2_000_000
"""Largest file read; a long line with full headers is under a tenth of it."""

A_SCENARIO: Final = "a scenario file"

_MAX_LINE: Final = 100_000
"""Longest line; the longest text a file may hold is shorter, escapes and all."""

_MAX_DOTS: Final = 2000
"""Most dots on a line; the reader's time grows with the square of a dotted key's parts."""


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
