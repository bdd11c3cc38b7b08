"""From the keys of a table to the fields of a noun, with what is assumed put on record."""

import re
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

from packsim.errors import Assumption, InputError
from packsim.scenario.fields import Key, Table, keys


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
            place[last] = tuple(value) if isinstance(value, list) else value
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
                return given
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
