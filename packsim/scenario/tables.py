"""The scenario file as a whole, and the file of fitted kicks it may include.

These models only say what a file may contain; `packsim.scenario.build` makes the nouns.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from packsim.line import DUTIES
from packsim.scenario import kinds as k
from packsim.scenario.fields import Choice, Energy, Name, Of, Rate, Table, Text
from packsim.scenario.line_tables import MAX_ROWS, AssumedTable, GuidesTable, MatTable, SizeTable
from packsim.scenario.stage_tables import StageTable

__all__ = ["SCHEMA", "FittedFile", "FittedTable", "ScenarioFile"]

SCHEMA: Final = 1
"""The only layout of scenario files there is so far."""

MAX_STAGES: Final = 200
MAX_SIZES: Final = 200
"""More of either than any line has: above it the file is not meant for us."""


class ScenarioFile(Table):
    """One case to be studied: a mat, its stages and the can sizes it runs."""

    schema_: int = Field(alias="schema", description=f"Layout of this file: {SCHEMA}.")
    name: Name = Field(description="Title.")
    about: Text = Field(default="", description="What the case stands for.")
    seed: int = Field(default=0, ge=0, lt=2**63, description="Seed of everything random.")
    factor: Annotated[float, Of(k.FACTOR)] | None = Field(
        default=None, description="Safety factor on the safe slack."
    )
    set_for: Name | None = Field(
        default=None, description="Size the guides are set for now; the first one where left out."
    )
    include: Name | None = Field(
        default=None, description="File of kicks fitted to trials, next to this one."
    )
    mat: MatTable = Field(description="The mat.")
    sizes: list[SizeTable] = Field(min_length=1, max_length=MAX_SIZES, description="Can sizes.")
    guides: GuidesTable = Field(default=GuidesTable(), description="Side guides of every stage.")
    stages: list[StageTable] = Field(
        min_length=1, max_length=MAX_STAGES, description="In order along travel."
    )
    assumed: list[AssumedTable] = Field(
        default=[], max_length=MAX_ROWS, description="Further values nobody measured."
    )


class FittedTable(Table):
    """Kicks of one duty as fitted to a trial."""

    energy: Energy = Field(description="Mean energy a kick gives a can.")
    low: Energy | None = Field(default=None, description="Least energy the trial allows.")
    high: Energy | None = Field(default=None, description="Most energy the trial allows.")
    rate: Rate | None = Field(default=None, description="Kicks a can gets per second.")
    trial: Name = Field(description="The trial.")


class FittedFile(Table):
    """What a scenario may include: fitted kicks by duty, ``[kicks.<duty>]``."""

    kicks: dict[Annotated[str, Choice(DUTIES)], FittedTable] = Field(
        max_length=len(DUTIES), description="One table for each duty."
    )
