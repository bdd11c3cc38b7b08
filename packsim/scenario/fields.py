"""How values are written in a file: a quantity, a range, a choice, a text.

Each reads a value, words it as an assumption and writes it as TOML.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from packsim.errors import Assumption
from packsim.scenario import quantities as k
from packsim.scenario.quantities import Kind, Refused, read_quantity, write_quantity


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
class Of(Reader):
    """Annotation of a float field that is written as a quantity of one kind."""

    kind: Kind

    def read(self, raw: object) -> float:
        """Return the value in the units inside, or complain."""
        try:
            return read_quantity(raw, self.kind)
        except Refused as refused:
            raise refusal(str(refused), refused) from None

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of a number in the usual unit, or of a word for one."""
        if isinstance(value, str):
            return super().told(path, value, why)
        return Assumption.measured_nowhere(path, self.kind.plain(value), self.kind.unit, why)

    def toml(self, value: Any) -> str:
        """Return a quantity, or a list of them."""
        if isinstance(value, tuple):
            return "[" + ", ".join(write_quantity(each, self.kind) for each in value) + "]"
        return write_quantity(value, self.kind)


@dataclass(frozen=True, eq=False)
class Named(Of):
    """Annotation of a float field that is a quantity, or a word for one of its values."""

    words: Mapping[str, float]

    def read(self, raw: object) -> float:
        """Return the value in the units inside, or complain."""
        if isinstance(raw, str) and raw in self.words:
            return self.words[raw]
        try:
            return read_quantity(raw, self.kind)
        except Refused:
            listed = ", ".join(f'"{word}"' for word in self.words)
            raise refusal(f"one of {listed}, or {self.kind.allowed}") from None

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of the word, where there is one."""
        named = value in self.words.values()
        return super().told(path, self._word(value) if named else value, why)

    def toml(self, value: Any) -> str:
        """Return the word for a value inside, or the value, as a text."""
        return toml_text(self._word(value))

    def _word(self, value: float) -> str:
        return next((word for word, inner in self.words.items() if inner == value), f"{value!r}")


@dataclass(frozen=True)
class Range(Of):
    """Annotation of a pair of floats: one quantity, or a range of it.

    One quantity is read as twice the same; a range is a text such as ``0 to 100 %``, whose last
    unit stands for both, or a list of two.
    """

    def read(self, raw: object) -> tuple[float, float]:  # type: ignore[override]
        """Return both ends in the units inside, or complain."""
        ends = raw if isinstance(raw, list) else [raw]
        if isinstance(raw, str) and len(parts := raw.split(" to ")) == 2:
            unit = re.sub(r"^[-+\d\s./]*(e[-+]?\d+)?", "", parts[1])
            ends = [parts[0] if re.search(r"[^-+\d\s./e]", parts[0]) else parts[0] + unit, parts[1]]
        read = super().read
        values = [read(end) for end in ends] if 1 <= len(ends) <= 2 else []
        if not values or values[0] > values[-1]:
            raise refusal(f"one value, or a range from low to high; {self.kind.allowed}")
        return values[0], values[-1]

    def told(self, path: str, value: Any, why: str) -> Assumption:
        """Return the assumption of one quantity, or of a range as a person would write it."""
        if value[0] == value[1]:
            return super().told(path, value[0], why)
        low, high = (f"{self.kind.plain(end):g}" for end in value)
        return super().told(path, f"{low} to {high} {self.kind.unit}".rstrip(), why)

    def toml(self, value: Any) -> str:
        """Return one quantity where both ends are the same, else a list of two."""
        return super().toml(value[0] if value[0] == value[1] else value)


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
    """Annotation of a text field: how long it may be, and whether it may be blank."""

    longest: int
    blank: bool = field(default=True)

    def read(self, raw: object) -> str:
        """Return the text, or complain."""
        if not isinstance(raw, str) or len(raw) > self.longest:
            raise refusal(f"a text of at most {self.longest} characters")
        if not self.blank and not raw.strip():
            raise refusal("a text that is not blank")
        return raw


Name = Annotated[str, Words(200, blank=False)]
Text = Annotated[str, Words(8000)]
Length = Annotated[float, Of(k.LENGTH)]
Gap = Annotated[float, Of(k.GAP)]
Place = Annotated[float, Of(k.PLACE)]
Temperature = Annotated[float, Of(k.TEMPERATURE)]
Share = Annotated[float, Of(k.SHARE)]
Acceleration = Annotated[float, Of(k.ACCELERATION)]
Side = Annotated[float, Named(k.SHARE, {"left": 0.0, "centre": 0.5, "right": 1.0})]
ShareRange = Annotated[tuple[float, float], Range(k.SHARE)]
Expansion = Annotated[float, Of(k.EXPANSION)]
Heat = Annotated[float, Of(k.HEAT)]
Force = Annotated[float, Of(k.FORCE)]
Energy = Annotated[float, Of(k.ENERGY)]
Rate = Annotated[float, Of(k.RATE)]
Angle = Annotated[float, Of(k.ANGLE)]
Speed = Annotated[float, Of(k.SPEED)]
Friction = Annotated[float, Of(k.FRICTION)]
AreaMass = Annotated[float, Of(k.AREA_MASS)]
MetalDensity = Annotated[float, Of(k.METAL_DENSITY)]
Mass = Annotated[float, Of(k.MASS)]
LineMass = Annotated[float, Of(k.LINE_MASS)]
Drift = Annotated[float, Of(k.DRIFT)]
Pressure = Annotated[float, Of(k.PRESSURE)]
Twist = Annotated[float, Of(k.TWIST)]
Flow = Annotated[float, Of(k.FLOW)]
RatedPressure = Annotated[float, Of(k.RATED_PRESSURE)]
VelocityShare = Annotated[float, Of(k.VELOCITY_SHARE)]
Density = Annotated[float, Of(k.DENSITY)]
Fill = Annotated[float, Of(k.FILL)]
LineForce = Annotated[float, Of(k.LINE_FORCE)]
Factor = Annotated[float, Of(k.FACTOR)]
Splash = Annotated[float, Of(k.SPLASH)]


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
