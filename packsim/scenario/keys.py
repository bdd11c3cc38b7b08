"""Keys, each declared once; and from the keys of a table to the fields of a noun.

A key's declaration says what noun field it fills, what stands in for it and why, and how one is
written. Reading, writing (`packsim.scenario.write`), complaints and the JSON schema all go by it.
What is assumed is put on record here.
"""

import math
import re
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final, get_args

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from packsim.errors import Assumption, InputError
from packsim.scenario.known.measured import Measured
from packsim.scenario.values.readers import Of, Reader

_DIGITS: Final = 5e-4
"""Relative difference of a value and what is on record of it, which has four digits or more."""


class Table(BaseModel):
    """A table of the file: unknown keys are refused, and nothing is converted on the quiet."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def key(
    about: str,
    noun: str = "",
    assumed: float | str | bool | None = None,
    why: str = "",
    *,
    example: float | str | None = None,
    default: Any = None,
    **limits: Any,
) -> Any:
    """Declare a key that may be left out, for the right side of a field of a table.

    ``about`` says what it is, for the schema and for complaints. ``noun`` is the field of the noun
    it fills: ``wires.tension_N`` for a field of a field, ``travel_mm.0`` for one of a pair, empty
    where `packsim.scenario.build` makes something else of it. ``assumed`` stands in where the key
    is left out, in the units inside, and goes on record with the reason ``why``. ``example`` is one
    as a file would have it, ``default`` what the table holds where it is left out, ``limits`` are
    further rules of pydantic's ``Field``: ``ge``, ``max_length``, ``alias``.
    """
    extra: Any = {"noun": noun, "assumed": assumed, "why": why, "example": example}
    return Field(default=default, description=about, json_schema_extra=extra, **limits)


def must(about: str, noun: str = "", *, example: float | str | None = None, **limits: Any) -> Any:
    """Declare a key that no table may leave out; parameters as for `key`."""
    return key(about, noun, example=example, default=..., **limits)


@dataclass(frozen=True, slots=True)
class Key:
    """One key as it was declared; fields as the parameters of `key`."""

    name: str
    about: str
    reader: Reader
    noun: str = ""
    assumed: float | str | bool | None = None
    why: str = ""
    example: float | str | None = None

    @property
    def kind(self) -> Of | None:
        """Kind of its quantity; None for a word, a text or a count."""
        own = self.reader if isinstance(self.reader, Of) else None
        return getattr(self.reader, "of", own)


@lru_cache(maxsize=100)
def keys(table: type[BaseModel]) -> dict[str, Key]:
    """Return the keys of a table by name, as they were declared."""
    found = {}
    for attribute, info in table.model_fields.items():
        said: Any = info.json_schema_extra or {}
        name = info.alias or attribute
        found[name] = Key(name, info.description or "", reader=_reader(info), **said)
    return found


def _reader(info: FieldInfo) -> Reader:
    """Return the reader among a field's annotations, inside a list or an optional too."""
    waiting: list[Any] = [*info.metadata, info.annotation]
    for each in waiting:
        if isinstance(each, Reader):
            return each
        waiting += [*getattr(each, "__metadata__", ()), *get_args(each)]
    return Reader()


def plain(value: Any) -> Any:
    """Return a value as a noun holds it: of a measured one the number alone, a list as a tuple."""
    if isinstance(value, list | tuple):
        return tuple(map(plain, value))
    return float(value) if isinstance(value, Measured) else value


def outdated(entry: Assumption, tables: Table) -> bool:
    """Whether a file gives otherwise, wherever it stands, what an entry it carries tells of.

    Who writes in what was measured forgets the entry that said nobody had.
    """
    given = list(_given(tables, entry.key))
    return bool(given) and not any(still(one, value, entry.value) for one, value in given)


def _given(tables: Any, path: str) -> Iterator[tuple[Key, Any]]:
    """Yield every value a file has under a key path; ``headers`` stands for those of all stages."""
    *outer, (last, place) = re.findall(r"(\w+)(?:\[([^\]]*)\])?", path) or [("", "")]
    inside = [tables]
    if [name for name, _ in outer] == ["headers"]:
        inside = [header for stage in tables.stages for header in stage.headers]
        outer = []
    for name, at in outer:
        inside = [getattr(one, name, None) for one in inside]
        if at:
            inside = [
                row
                for rows in inside
                for i, row in enumerate(rows or ())
                if at in (str(i), getattr(row, "name", None))
            ]
    for table in inside:
        one = keys(type(table)).get(last) if isinstance(table, Table) else None
        value = getattr(table, last, None)
        if place and isinstance(value, list | tuple):
            value = value[int(place)] if place.isdecimal() and int(place) < len(value) else None
        if one is not None and value is not None:
            yield one, value


def still(one: Key, value: Any, on_record: str) -> bool:
    """Whether a value of a key is what is on record, in whatever unit, to the digits written."""
    if isinstance(value, Measured):
        return False
    value = plain(value)
    if one.reader.told("", value, "").value == on_record:
        return True
    try:
        was = one.reader.read(on_record)
    except (PydanticCustomError, NotImplementedError):
        return True
    if isinstance(was, float | int) and isinstance(value, float | int):
        return math.isclose(was, value, rel_tol=_DIGITS)
    return bool(plain(was) == value)


@dataclass(slots=True)
class Ledger:
    """Collects the assumptions made, and the complaints found, while one scenario is built."""

    entries: dict[str, Assumption] = field(default_factory=dict)
    complaints: list[InputError] = field(default_factory=list)

    @contextmanager
    def complaining(self) -> Iterator[None]:
        """Keep a complaint for the end, so that what comes after is looked at too."""
        try:
            yield
        except InputError as problem:
            self.complaints += problem.each

    def note(self, path: str, value: Any, one: Key, why: str = "") -> None:
        """Put one assumed value on record, once."""
        self.entries.setdefault(path, one.reader.told(path, value, why or one.why))

    def take(
        self,
        table: Table,
        path: str,
        *,
        behind: Table | None = None,
        instead: Mapping[str, tuple[Any, str]] | None = None,
        quietly: Collection[str] = (),
    ) -> dict[str, Any]:
        """Return the fields of a noun that a table fills, a dict for those of a field.

        Fields that nothing fills are not in it: the noun has a value of its own for them. A key
        that ``table`` leaves out is looked up in ``behind``; then ``instead`` has value and reason
        by key, where what stands in hangs on more than the key. What is assumed goes on record
        under ``path``, but for the keys named ``quietly``, whose value left out matters to nothing.
        """
        found: dict[str, Any] = {}
        for name, one in keys(type(table)).items():
            if not one.noun:
                continue
            value = self.value(
                table, name, path, behind, (instead or {}).get(name), name in quietly
            )
            if value is None:
                continue
            *outer, last = one.noun.split(".")
            place = found.setdefault(outer[0], {}) if outer else found
            place[last] = value
        return found

    def value(
        self,
        table: Table,
        name: str,
        path: str,
        behind: Table | None = None,
        instead: tuple[Any, str] | None = None,
        quietly: bool = False,
    ) -> Any:
        """Return the value of one key; parameters as for `take`."""
        for source in (table, behind):
            given = None if source is None else getattr(source, name)
            if given is not None:
                return plain(given)
        one = keys(type(table))[name]
        value, why = instead or (one.assumed, one.why)
        if value is not None and not quietly:
            self.note(f"{path}.{name}".lstrip("."), value, one, why)
        return value

    def carry(self, entry: Assumption) -> None:
        """Take over an entry the file carries, unless the value under its key has changed."""
        mine = self.entries.get(entry.key)
        if mine is None:
            self.entries[entry.key] = entry
        elif mine.value == entry.value:
            self.entries[entry.key] = replace(mine, why=entry.why)

    def ordered(self) -> tuple[Assumption, ...]:
        """Return the record in the order of its keys, numbers as numbers."""
        return tuple(sorted(self.entries.values(), key=lambda entry: _natural(entry.key)))


def _natural(path: str) -> list[tuple[int, int, str]]:
    parts = re.findall(r"[0-9]{1,9}|[^0-9]+|[0-9]+", path)
    return [(0, int(p), "") if p.isdecimal() and len(p) < 10 else (1, 0, p) for p in parts]
