"""How values are written in a file: a quantity, a range, a choice, a text.

Each reads a value, words it as an assumption and writes it as TOML; the kinds a line's file has are
listed in `packsim.scenario.values.fields`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from packsim.errors import Assumption, printable
from packsim.scenario.known.few_readings import ENOUGH
from packsim.scenario.known.measured import Measured, Unclear, limits, read_measured
from packsim.scenario.values.quantities import (
    Kind,
    Refused,
    has_range,
    read_quantity,
    write_quantity,
)


class Reader:
    """Annotation of a field that reads a value in a way of its own; as it is for one without."""

    def read(self, raw: object) -> Any:
        """Return the value inside, or raise a complaint in pydantic's way."""
        raise NotImplementedError

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of a value inside."""
        return Assumption(path, str(value).lower(), why)

    def toml(self, value: Any) -> str:
        """Return a value inside as TOML that reads back."""
        return toml_text(value) if isinstance(value, str) else str(value).lower()

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)


@dataclass(frozen=True)
class Of(Kind, Reader):
    """Annotation of a float field that is written as a quantity of one kind.

    An ``exact`` one is decided or counted and takes no ±; any other may be read as a `Measured`.
    """

    exact: bool = False

    def read(self, raw: object) -> float:
        """Return the value in the units inside, or complain."""
        try:
            if not has_range(raw):
                return read_quantity(raw, self)
            if self.exact:
                raise refusal(f"{self.allowed}, without ± or readings: it is decided, not measured")
            return read_measured(raw, self)
        except Refused as refused:
            raise refusal(str(refused), refused) from None
        except Unclear as unclear:
            raise refusal(str(unclear)) from None

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of a number in the usual unit, or of a word for one."""
        if isinstance(value, str):
            return super().told(path, value, why)
        return Assumption.measured_nowhere(path, self.plain(value), self.unit, why)

    def toml(self, value: Any) -> str:
        """Return a quantity, or a list of them."""
        if isinstance(value, tuple):
            return "[" + ", ".join(write_quantity(each, self) for each in value) + "]"
        return write_quantity(value, self)


@dataclass(frozen=True, eq=False)
class Named(Reader):
    """Annotation of a float field that is a quantity, or a word for one of its values."""

    of: Of
    words: Mapping[str, float]

    def read(self, raw: object) -> float:
        """Return the value in the units inside, or complain."""
        if isinstance(raw, str) and raw in self.words:
            return self.words[raw]
        if has_range(raw):
            return self.of.read(raw)
        try:
            return read_quantity(raw, self.of)
        except Refused:
            listed = ", ".join(f'"{word}"' for word in self.words)
            raise refusal(f"one of {listed}, or {self.of.allowed}") from None

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of the word, where there is one."""
        named = value in self.words.values()
        return self.of.told(path, self._word(value) if named else value, why)

    def toml(self, value: Any) -> str:
        """Return the word for a value inside, or the value, as a text."""
        return toml_text(self._word(value))

    def _word(self, value: float) -> str:
        return next((word for word, inner in self.words.items() if inner == value), f"{value!r}")


@dataclass(frozen=True)
class Range(Reader):
    """Annotation of a pair of floats: one quantity, or a range of it.

    One quantity is read as twice the same; a range is a text such as ``0 to 100 %``, whose last
    unit stands for both, or a list of two. A ± is a range too, and five readings or more are that
    of their spread.
    """

    of: Of

    def read(self, raw: object) -> tuple[float, float]:
        """Return both ends in the units inside, or complain."""
        several = isinstance(raw, list) and len(raw) > 2
        if several or (isinstance(raw, str) and has_range(raw)):
            return self._measured(raw)
        ends = raw if isinstance(raw, list) else [raw]
        if isinstance(raw, str) and len(parts := raw.split(" to ")) == 2:
            unit = re.sub(r"^[-+\d\s./]*(e[-+]?\d+)?", "", parts[1])
            ends = [parts[0] if re.search(r"[^-+\d\s./e]", parts[0]) else parts[0] + unit, parts[1]]
        values = [float(self.of.read(end)) for end in ends] if 1 <= len(ends) <= 2 else []
        if not values or values[0] > values[-1]:
            raise refusal(f"one value, or a range from low to high; {self.of.allowed}")
        return values[0], values[-1]

    def _measured(self, raw: object) -> tuple[float, float]:
        found = self.of.read(raw)
        if not isinstance(found, Measured):
            return found, found
        if 0 < found.readings < ENOUGH:
            raise refusal(f"a range of two, or {ENOUGH} readings or more; {self.of.allowed}")
        low, high = found.low, found.high
        if found.readings:
            least, most = limits(self.of)
            low = max(least, found - found.spread[1])
            high = min(most, found + found.spread[1])
        ends = [
            Measured.of(end, 0.0, found.written, readings=found.readings) for end in (low, high)
        ]
        return ends[0], ends[1]

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of one quantity, or of a range as a person would write it."""
        if value[0] == value[1]:
            return self.of.told(path, value[0], why)
        low, high = (f"{self.of.plain(end):g}" for end in value)
        return super().told(path, f"{low} to {high} {self.of.unit}".rstrip(), why)

    def toml(self, value: Any) -> str:
        """Return one quantity where both ends are the same, else a list of two."""
        return self.of.toml(value[0] if value[0] == value[1] else value)


@dataclass(frozen=True, eq=False)
class Choice(Reader):
    """Annotation of a text field that takes one of a few words.

    ``words`` has the value inside by word; the first word of a value is the one written. ``hint``
    is said after the words where another was given.
    """

    words: Mapping[str, str]
    hint: str = ""

    def read(self, raw: object) -> str:
        """Return the value inside, or complain."""
        if not isinstance(raw, str) or raw not in self.words:
            raise refusal("one of " + ", ".join(f'"{word}"' for word in self.words) + self.hint)
        return self.words[raw]

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of the word for a value inside."""
        return super().told(path, self._word(value), why)

    def toml(self, value: Any) -> str:
        """Return the word for a value inside."""
        return toml_text(self._word(value))

    def _word(self, value: str) -> str:
        return next(word for word, inner in self.words.items() if inner == value)


def same(words: tuple[str, ...]) -> dict[str, str]:
    """Return words that mean themselves, for `Choice`."""
    return {word: word for word in words}


@dataclass(frozen=True)
class Words(Reader):
    """Annotation of a text field: how long it may be, and whether it may be blank.

    What acts unseen, such as a sign that turns the direction of writing, is read as a space: no
    name reaches a screen, a page or a drawing with it.
    """

    longest: int
    blank: bool = field(default=True)

    def read(self, raw: object) -> str:
        """Return the text, or complain."""
        if not isinstance(raw, str) or len(raw) > self.longest:
            raise refusal(f"a text of at most {self.longest} characters")
        lines = [printable(line) for line in (raw.splitlines() if self.blank else [raw])]
        if not self.blank and not lines[0].strip():
            raise refusal("a text that is not blank")
        return "\n".join(lines)


class Names(Words):
    """Annotation of a tuple of names: one, or a list of them, each as `Words` has it."""

    def read(self, raw: object) -> Any:
        """Return the names, or complain."""
        if raw == []:
            raise refusal("a text, or a list of texts")
        return tuple(
            super(Names, self).read(one) for one in (raw if isinstance(raw, list) else [raw])
        )

    def toml(self, value: Any) -> str:
        """Return one name as a text, several as a list, one on a line."""
        said = [toml_text(each) for each in value]
        return said[0] if len(said) == 1 else "\n".join(["[", *(f"  {one}," for one in said), "]"])


def refusal(allowed: str, refused: Refused | None = None) -> PydanticCustomError:
    """Return a complaint in pydantic's way, with what would be allowed."""
    return PydanticCustomError("refused", "{allowed}", {"allowed": allowed, "refused": refused})


def toml_text(text: str) -> str:
    r"""Return a text as a TOML basic string on one line.

    Examples
    --------
    >>> print(toml_text('a "b"' + chr(10)))
    "a \"b\"\n"
    """
    # what JSON escapes TOML does too, but for the signs that nothing shows
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in quoted)
