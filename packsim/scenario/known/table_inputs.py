"""The ranges of one table of a scenario file, key by key: its own, or those of documented.toml."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

from packsim.errors import InputError
from packsim.line import InputRange, Scenario
from packsim.line.knob import field_at
from packsim.scenario.keys import Key, Table, keys, still
from packsim.scenario.known.measured import Measured, half_width, limits
from packsim.scenario.line_tables import GuidesTable, MatTable, SizeTable
from packsim.scenario.stage_tables import BracketTable, HeaderTable, KicksTable, StageTable
from packsim.scenario.values.readers import Choice, Of, Range

TABLES: Final[dict[type[Table], str]] = {
    MatTable: "mat",
    SizeTable: "sizes",
    GuidesTable: "guides",
    StageTable: "stages",
    BracketTable: "brackets",
    KicksTable: "kicks",
    HeaderTable: "headers",
}
"""Tables whose values have a range, by the name they go under in documented.toml."""

_OF_IT: Final = re.compile(r"(\S+) % of it")
_TIMES: Final = re.compile(r"(\S+) to (\S+) times it")


@dataclass(frozen=True, slots=True)
class Documented:
    """What the table says of one key.

    Parameters
    ----------
    given, why : str
        Spread of a value written plainly, and the reason for it.
    assumed, if_not : str
        Spread of one that nobody gave, and the reason; empty where that cannot be.
    """

    given: str
    why: str
    assumed: str = ""
    if_not: str = ""

    def spread(self, given: bool) -> tuple[str, str]:
        """Return the spread of a value that is given or not, and the reason for it."""
        return (self.given, self.why) if given or not self.assumed else (self.assumed, self.if_not)


@cache
def documented() -> dict[str, Documented]:
    """Return what the table says, by table and key: ``mat.width``."""
    text = Path(__file__).with_name("documented.toml").read_text(encoding="utf-8")
    return {
        f"{table}.{key}": Documented(**said)
        for table, rows in tomllib.loads(text).items()
        for key, said in rows.items()
    }


def bounds(spread: str, value: float, kind: Of) -> tuple[float, float]:
    """Return low and high of a value, in the units inside.

    Parameters
    ----------
    spread : str
        As the table has it; not that of a word.
    value : float
        The value, in the units inside; it is within.
    kind : Of
        What it is; low and high are kept within what such a quantity may be.

    Returns
    -------
    tuple of float
        Low and high.

    Examples
    --------
    >>> tape = Of("a length", "mm", 0.0, 1e6, '"66.1 mm"', above=True)
    >>> bounds("2 mm", 66.0, tape), bounds("5 % of it", 100.0, tape)
    ((64.0, 68.0), (95.0, 105.0))
    >>> bounds("0.25 to 1 times it", 2.0, tape), bounds("1 to 3 mm", 5.0, tape)
    ((0.5, 2.0), (1.0, 5.0))
    """
    if spread == "exact":
        return value, value
    if found := _OF_IT.fullmatch(spread):
        half = abs(value) * float(found[1]) / 100.0
        low, high = value - half, value + half
    elif found := _TIMES.fullmatch(spread):
        low, high = sorted((value * float(found[1]), value * float(found[2])))
    elif " to " in spread:
        low, high = Range(kind).read(spread)
    else:
        half = half_width(spread, kind)
        low, high = value - half, value + half
    least, most = limits(kind)
    return min(value, max(low, least)), max(value, min(high, most))


@dataclass(frozen=True, slots=True)
class TableInputs:
    """One table of a file, the noun made from it, and where both stand.

    ``said`` has what is on record as assumed, by key. Under ``shared`` goes what ``line`` gives
    for all, or nobody.
    """

    scenario: Scenario
    table: Table
    path: str
    place: str
    said: dict[str, str]
    shared: str = ""
    line: Table | None = None

    def of(self, table: Table, path: str, place: str) -> "TableInputs":
        """Return the inputs of another table."""
        return replace(self, table=table, path=path, place=place)

    def all(self, leave: frozenset[str] = frozenset()) -> Iterator[InputRange]:
        """Return the ranges of every key that fills a field and has one documented."""
        for name, one in keys(type(self.table)).items():
            known = documented().get(f"{TABLES[type(self.table)]}.{name}")
            if known is None or not one.noun or name in leave:
                continue
            place = f"{self.place}.{one.noun}"
            value = field_at(self.scenario, place)
            if isinstance(value, tuple):
                given = getattr(self.table, name) or getattr(self.line, name, None) or value
                for k, each in enumerate(value):
                    yield self.one(one, known, each, f"{place}.{k}", (f"[{k}]", given[k]))
            elif value is not None:
                yield self.one(one, known, value, place)

    def one(
        self,
        one: Key,
        known: Documented,
        value: Any,
        place: str,
        listed: tuple[str, Any] = ("", None),
    ) -> InputRange:
        """Return the range of one value; ``listed``: its place in a list, and what stands there."""
        own = getattr(self.table, one.name)
        line = None if self.line is None else getattr(self.line, one.name)
        given = own if own is not None else line
        common = f"{self.shared or self.path}.{one.name}"
        key = (f"{self.path}.{one.name}" if own is not None else common) + listed[0]
        said = listed[1] if listed[0] else given
        for path in (common, common + listed[0]):
            if given is None or isinstance(said, Measured):
                break
            on_record = None if isinstance(value, tuple) else self.said.get(path)
            if on_record is not None and still(one, value, on_record):
                # written out by hand or by us, and still nobody's; what a file cannot do without
                # is not one thing for all, though one entry may tell of all
                given, key = None, path if one.assumed is not None or own is None else key
        if isinstance(one.reader, Choice) or isinstance(value, bool):
            return _choice(key, one, value, given is not None, known, place)
        return _number(key, one, value, known, None if given is None else said, place)


def _number(
    key: str, one: Key, value: float, known: Documented, given: object, place: str
) -> InputRange:
    """Return the range of a number, given or not."""
    kind = kind_of_key(one)
    if isinstance(given, Measured):
        return InputRange(
            key,
            value,
            min(given.low, value),
            max(given.high, value),
            kind="measured",
            source=given.source,
            shape="normal",
            readings=given.readings,
            unit=kind.unit,
            inner=kind.inner,
            places=(place,),
            written=given.written,
        )
    spread, why = known.spread(given is not None)
    low, high = bounds(spread, value, kind)
    return InputRange(
        key,
        value,
        low,
        high,
        kind="assumed" if given is None else "given",
        source=why,
        unit=kind.unit,
        inner=kind.inner,
        places=(place,),
    )


def _choice(
    key: str, one: Key, value: object, given: bool, known: Documented, place: str
) -> InputRange:
    """Return the range of a word: itself where it is given, any of them where it is not."""
    if isinstance(one.reader, Choice):
        words: dict[object, str] = {}
        for word, inner in one.reader.words.items():
            words.setdefault(inner, word)
    else:
        words = {True: "true", False: "false"}
    options = tuple(words)
    at = float(options.index(value))
    low, high = (at, at) if given else (0.0, len(options) - 1.0)
    return InputRange(
        key,
        at,
        low,
        high,
        kind="given" if given else "assumed",
        source=known.spread(given)[1],
        shape="choice",
        choices=tuple(words.values()),
        options=options,
        places=(place,),
    )


def kind_of_key(one: Key) -> Of:
    """Return the kind of a key that has one documented; the table names no other."""
    if one.kind is None:
        raise InputError(one.name, "no quantity", "a key whose value is one")
    return one.kind
