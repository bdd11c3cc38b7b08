"""A file with the names of schema 1, rewritten with those of schema 2; comments stay."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from packsim.errors import InputError, InputErrors
from packsim.scenario.complaints import written
from packsim.scenario.renewed_names import NEW_WORDS, RENEW, OldNames, new_name, new_path
from packsim.scenario.tables import SCHEMA
from packsim.scenario.text_in import read_toml

__all__ = ["Renewed", "current", "renewed"]


@dataclass(slots=True)
class Renewed:
    """A file rewritten.

    Parameters
    ----------
    text : str
        The file with new names.
    names : dict
        Old to new, in the order met: keys, and words as ``rows = "along"``.
    """

    text: str = ""
    names: dict[str, str] = field(default_factory=dict)

    def note(self, file: str) -> str:
        """Return one line that names what is called otherwise now."""
        said = ", ".join(f"{old} is now {new}" for old, new in self.names.items())
        return f"{file}: schema 1 was read. {said or 'No name has changed'}. {RENEW}."


def current(
    text: str, file: str, what: str, *, numbered: bool = True
) -> tuple[str, dict[str, Any]]:
    """Return a file's text and data in schema 2, whichever it is written in.

    Parameters
    ----------
    text, file, what : str
        As for `read_toml`.
    numbered : bool
        Whether such a file must say which schema it has.

    Returns
    -------
    text : str
        As given, or renewed; `OldNames` is warned of then. Lines stay where they were.
    data : dict
        The data of that text.

    Raises
    ------
    InputError
        If the file is no TOML or its schema unknown.
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


def renewed(text: str, file: str) -> Renewed:
    """Rewrite a scenario, fitted kicks or trials with the names of schema 2.

    Parameters
    ----------
    text : str
        TOML that can be read, of schema 1 or with names of it left over.
    file : str
        Name for complaints.

    Returns
    -------
    Renewed
        Values, comments, blank lines and the order of keys as they were.

    Raises
    ------
    InputError
        Where an old name and the new one of the same key both stand in one table.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
    except TOMLKitError as problem:
        raise InputError("", written(problem), "TOML", file=file) from None
    found = Renewed()
    twice = list(_renew(document, (), found))
    if twice:
        raise InputErrors([problem.in_file(file) for problem in twice])
    found.text = tomlkit.dumps(document)
    return found


def _renew(table: Any, loc: tuple[int | str, ...], found: Renewed) -> Iterator[InputError]:
    """Give every key of a table its new name, and yield what has both names."""
    from tomlkit.items import AoT, Array, InlineTable, SingleKey, Table

    body = table.value.body if isinstance(table, Table | InlineTable) else table.body
    names = {key.key for key, _ in body if key is not None}
    for i, (key, item) in enumerate(body):
        if key is None:
            continue
        here = (*loc, key.key)
        new = new_name(here)
        if new in names:
            path = ".".join(str(part) for part in here)
            yield InputError(
                path, f"both {key.key} and {new}", f"one of them; {new} is the new name"
            )
        if new:
            found.names[key.key] = new
            _keep_column(item, len(new) - len(key.key))
            space = " " * (len(key.as_string()) - len(key.as_string().rstrip()))
            body[i] = (SingleKey(new, sep=key.sep, original=new + space), item)
        inner = item.body if isinstance(item, AoT) else item if isinstance(item, Array) else [item]
        for part in inner:
            if isinstance(part, Table | InlineTable):
                yield from _renew(part, here, found)
        body[i] = (body[i][0], _value(item, here, new or key.key, found))


def _keep_column(item: Any, longer: int) -> None:
    """Leave the comment behind a value in its column, as far as there is room."""
    trivia = item.trivia
    if trivia.comment and set(trivia.comment_ws) == {" "}:
        trivia.comment_ws = " " * max(1, len(trivia.comment_ws) - longer)


def _value(item: Any, loc: tuple[int | str, ...], name: str, found: Renewed) -> Any:
    """Return the new word of a choice, path of an assumption or number of the schema."""
    import tomlkit
    from tomlkit.items import Integer, String

    new: Any = None
    if isinstance(item, Integer) and loc == ("schema",) and item == 1:
        new = tomlkit.integer(SCHEMA)
    elif isinstance(item, String) and str(item) in NEW_WORDS.get(name, {}):
        word = NEW_WORDS[name][str(item)]
        new, found.names[f'"{item}"'] = tomlkit.string(word), f'"{word}"'
    elif isinstance(item, String) and loc[-2:] == ("assumed", "key") and new_path(item) != item:
        new = tomlkit.string(new_path(str(item)))
    if new is None:
        return item
    longer = len(new.as_string()) - len(item.as_string())
    _keep_column(item, longer)
    for part in ("indent", "comment_ws", "comment", "trail"):
        setattr(new.trivia, part, getattr(item.trivia, part))
    return new
