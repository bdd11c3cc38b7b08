"""The trial file as a whole: what it may contain."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import Field, GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from packsim.scenario.fields import Length, Name, Table, Text
from packsim.scenario.line_tables import MAX_ROWS

__all__ = ["TRIAL_SCHEMA", "StageRow", "TrialFile", "TrialRow"]

TRIAL_SCHEMA: Final = 1
"""The only layout of trial files there is so far."""

_MOST: Final = 10**12
"""More cans than any line passes in its life: above it the number is a slip."""


@dataclass(frozen=True, slots=True)
class _Day:
    """Annotation of a date without a time."""

    def read(self, raw: object) -> dt.date:
        """Return the date, or complain in pydantic's way."""
        if isinstance(raw, dt.date) and not isinstance(raw, dt.datetime) and raw.year >= 1950:
            return raw
        raise PydanticCustomError(
            "refused", "{allowed}", {"allowed": "a date from 1950 on, such as 2025-03-04"}
        )

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)


class StageRow(Table):
    """One stage of a trial."""

    stage: Name = Field(description="Name of the stage, as in the scenario.")
    clear_width: Length | None = Field(
        default=None, description="Clear width here; the trial's own where left out."
    )
    tipped: int | None = Field(
        default=None, ge=0, le=_MOST, description="Cans tipped in this stage."
    )
    left: int | None = Field(default=None, ge=0, le=_MOST, description="Of these at the left edge.")
    centre: int | None = Field(default=None, ge=0, le=_MOST, description="Of these in the centre.")
    right: int | None = Field(
        default=None, ge=0, le=_MOST, description="Of these at the right edge."
    )


class TrialRow(Table):
    """One setting tried."""

    name: Name = Field(description="What to call it.")
    date: Annotated[dt.date, _Day()] = Field(description="Day it was run.")
    size: Name = Field(description="Can size, as in the scenario.")
    line: Text = Field(default="", description="Which line, where there are several.")
    cans: int = Field(ge=1, le=_MOST, description="Cans passed.")
    tipped: int | None = Field(
        default=None,
        ge=0,
        le=_MOST,
        description="Cans tipped in all stages; their sum where left out.",
    )
    clear_width: Length | None = Field(
        default=None, description="Clear width of every stage; as set where left out."
    )
    left: int | None = Field(
        default=None, ge=0, le=_MOST, description="Of the tipped at the left edge."
    )
    centre: int | None = Field(
        default=None, ge=0, le=_MOST, description="Of the tipped in the centre."
    )
    right: int | None = Field(
        default=None, ge=0, le=_MOST, description="Of the tipped at the right edge."
    )
    remarks: Text = Field(default="", description="Anything worth knowing.")
    stages: list[StageRow] = Field(
        default=[], max_length=MAX_ROWS, description="Stages set or counted by themselves."
    )


class TrialFile(Table):
    """Trials of one line."""

    schema_: int = Field(alias="schema", description=f"Layout of this file: {TRIAL_SCHEMA}.")
    about: Text = Field(default="", description="What the trials stand for.")
    trials: list[TrialRow] = Field(
        min_length=1, max_length=MAX_ROWS, description="One table for each setting tried."
    )
