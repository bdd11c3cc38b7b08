"""The scenario file as a whole, and the file of fitted kicks it may include.

These models only say what a file may contain; `packsim.scenario.build` makes the nouns.
"""

from __future__ import annotations

from typing import Annotated, Final

from packsim.line import DUTIES
from packsim.scenario import kinds as k
from packsim.scenario.fields import Energy, Name, Of, Rate, Table, Text, key, must
from packsim.scenario.line_tables import MAX_ROWS, AssumedTable, GuidesTable, MatTable, SizeTable
from packsim.scenario.stage_tables import Duty, StageTable

__all__ = ["SCHEMA", "FittedFile", "FittedTable", "ScenarioFile"]

SCHEMA: Final = 2
"""The layout of scenario and trial files; `packsim.scenario.renew` knows the one before."""

MAX_STAGES: Final = 200
MAX_SIZES: Final = 200
"""More of either than any line has: above it the file is not meant for us."""


class ScenarioFile(Table):
    """One case to be studied: a mat, its stages and the can sizes it runs."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema", example=SCHEMA)
    name: Name = must("Title.", "name", example="Line 3")
    about: Text = key("What the case stands for.", "about", default="")
    seed: int = key("Seed of everything random.", "seed", default=0, ge=0, lt=2**63)
    safety_factor: Annotated[float, Of(k.FACTOR)] | None = key(
        "Safety factor on the safe slack.",
        "factor",
        assumed=2.0,
        why="our choice: half of the safe slack is held back",
    )
    guides_set_for: Name | None = key(
        "Size the guides are set for now; the first one where left out.",
        "set_for",
        example="211 body",
    )
    include: Name | None = key(
        "File of kicks fitted to trials, next to this one.", example="fitted.toml"
    )
    mat: MatTable = must("The mat.")
    sizes: list[SizeTable] = must("Can sizes.", min_length=1, max_length=MAX_SIZES)
    guides: GuidesTable = key("Side guides of every stage.", default=GuidesTable())
    stages: list[StageTable] = must("In order along travel.", min_length=1, max_length=MAX_STAGES)
    assumed: list[AssumedTable] = key(
        "Further values nobody measured.", default=[], max_length=MAX_ROWS
    )


class FittedTable(Table):
    """Kicks of one duty as fitted to a trial."""

    energy: Energy = must("Mean energy a kick gives a can.")
    low: Energy | None = key("Least energy the trial allows.")
    high: Energy | None = key("Most energy the trial allows.")
    kicks_per_second: Rate | None = key("Kicks a can gets per second.")
    trial: Name = must("The trial.", example="week 12")


class FittedFile(Table):
    """What a scenario may include: fitted kicks by duty, ``[kicks.<duty>]``."""

    schema_: int = key(f"Layout of this file: {SCHEMA}.", default=SCHEMA, alias="schema")
    kicks: dict[Duty, FittedTable] = must("One table for each duty.", max_length=len(DUTIES))
