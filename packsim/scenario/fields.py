"""What tables are made of: a quantity of one kind, a choice from a few words, a name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from packsim.scenario import kinds as k
from packsim.scenario.quantities import Kind, Refused, read_quantity

__all__ = [
    "Angle",
    "Choice",
    "Energy",
    "Expansion",
    "Force",
    "Gap",
    "Heat",
    "Length",
    "Name",
    "Of",
    "Place",
    "Rate",
    "Share",
    "Table",
    "Temperature",
    "Text",
]


class Table(BaseModel):
    """A table of the file: unknown keys are refused, and nothing is converted on the quiet."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


@dataclass(frozen=True, slots=True)
class Of:
    """Annotation of a float field that is written as a quantity of one kind."""

    kind: Kind

    def read(self, raw: object) -> float:
        """Return the value in the units inside, or complain in pydantic's way."""
        try:
            return read_quantity(raw, self.kind)
        except Refused as refused:
            raise _complaint(str(refused)) from None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        unit = self.kind.unit
        plain = f"A plain number is in {unit}." if unit else "A plain number, or a text in %."
        phrase = self.kind.allowed
        return {
            "type": ["number", "string"],
            "written": f"{phrase[0].upper()}{phrase[1:]}. {plain}",
        }


@dataclass(frozen=True, slots=True)
class Choice:
    """Annotation of a text field that takes one of a few words."""

    words: tuple[str, ...]

    def read(self, raw: object) -> str:
        """Return the word, or complain in pydantic's way."""
        if not isinstance(raw, str) or raw not in self.words:
            raise _complaint("one of " + ", ".join(f'"{word}"' for word in self.words))
        return raw

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}


@dataclass(frozen=True, slots=True)
class _Words:
    """Annotation of a text field: how long it may be, and whether it may be blank."""

    longest: int
    blank: bool

    def read(self, raw: object) -> str:
        """Return the text, or complain in pydantic's way."""
        if not isinstance(raw, str) or len(raw) > self.longest:
            raise _complaint(f"a text of at most {self.longest} characters")
        if not self.blank and not raw.strip():
            raise _complaint("a text that is not blank")
        return raw

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest}


Name = Annotated[str, _Words(200, blank=False)]
Text = Annotated[str, _Words(8000, blank=True)]
Length = Annotated[float, Of(k.LENGTH)]
Gap = Annotated[float, Of(k.GAP)]
Place = Annotated[float, Of(k.PLACE)]
Temperature = Annotated[float, Of(k.TEMPERATURE)]
Share = Annotated[float, Of(k.SHARE)]
Expansion = Annotated[float, Of(k.EXPANSION)]
Heat = Annotated[float, Of(k.HEAT)]
Force = Annotated[float, Of(k.FORCE)]
Energy = Annotated[float, Of(k.ENERGY)]
Rate = Annotated[float, Of(k.RATE)]
Angle = Annotated[float, Of(k.ANGLE)]


def _complaint(allowed: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{allowed}", {"allowed": allowed})
