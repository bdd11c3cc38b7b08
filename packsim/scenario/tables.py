"""The files as a whole: a scenario, the fitted kicks it may include, trials of a line.

These models only say what a file may contain; `packsim.scenario.build` makes the nouns.
"""

import datetime as dt
from typing import Annotated, Any, Final

from pydantic import field_validator

from packsim.constants import UNIT_SYSTEMS
from packsim.line import DUTIES, PLACES
from packsim.scenario.keys import Table, key, keys, must
from packsim.scenario.line_tables import MAX_ROWS, AssumedTable, GuidesTable, MatTable, SizeTable
from packsim.scenario.renew import SCHEMA
from packsim.scenario.stage_tables import Duty, HeaderTable, StageTable
from packsim.scenario.values import fields as f
from packsim.scenario.values.quantities import read_quantity
from packsim.scenario.values.readers import Choice, Reader, refusal, same

MAX_STAGES: Final = 200
MAX_SIZES: Final = 200
"""More of either than any line has: above it the file is not meant for us."""


_MOST: Final = 10**12
"""More cans than any line passes in its life: above it the number is a slip."""


class PerMillion(Reader):
    """Annotation of a float field: a number of cans in a million, or a share such as 0.05 %."""

    def read(self, raw: object) -> float:
        """Return the number in a million, or complain."""
        text = raw.strip().removesuffix("per million") if isinstance(raw, str) else raw
        try:
            if isinstance(text, str) and text.rstrip().endswith("%"):
                return 1e6 * read_quantity(text, f.kind_of(f.Share))
            if not isinstance(text, bool) and 0.0 <= (rate := float(str(text))) <= 1e6:
                return rate
        except ValueError:
            pass
        raise refusal('cans in a million, such as 500, or a share such as "0.05 %"')


class WidthRow(Table):
    """Clear width of one stage at the time of a count."""

    stage: f.Name = must("Name of the stage.")
    clear_width: f.ExactLength = must("Clear width there then.", example="1388.5 mm")


class HistoryRow(Table):
    """What the line is known to have done: one count, of the whole line or of a part of it."""

    name: f.Text = key("What to call it.", "name", default="", example="last year")
    size: f.Name = must("Can size that ran.", "size", example="211 body")
    cans: int | None = key("Cans passed.", example=2_000_000, ge=1, le=_MOST)
    tipped: int | None = key("Cans that tipped.", example=1000, ge=0, le=_MOST)
    tips_per_million: Annotated[float, PerMillion()] | None = key(
        "Instead of tipped: cans tipped of those passed. A plain number is in a million; or a "
        "text in %.",
        example="0.05 %",
    )
    stage: f.Name | None = key(
        "Stage in which they tipped; all stages together where left out.", "stage", example="wash"
    )
    place: Annotated[str, Choice(same(PLACES))] | None = key(
        "Where across the mat; all places together where left out.", "place"
    )
    clear_width: f.ExactLength | None = key(
        "Clear width of every stage then; as now where left out.",
        "clear_width_mm",
        example="1388.5 mm",
    )
    widths: list[WidthRow] = key(
        "Clear widths of single stages then, where they differ.", default=[], max_length=MAX_STAGES
    )


class ScenarioFile(Table):
    """One case to be studied: a mat, its stages and the can sizes it runs."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema", example=SCHEMA)
    name: f.Name = must("Title.", "name", example="Line 3")
    about: f.Text = key("What the case stands for.", "about", default="")
    seed: int = key("Seed of everything random.", "seed", default=0, ge=0, lt=2**63)
    safety_factor: f.Factor | None = key(
        "Safety factor on the safe slack.",
        "factor",
        2.0,
        "our choice: half of the safe slack is held back",
    )
    guides_set_for: f.Name | None = key(
        "Size the guides are set for now; the first one where left out.",
        "set_for",
        example="211 body",
    )
    units: Annotated[str, Choice(same(UNIT_SYSTEMS))] = key(
        "Unit system that answers are told in; --units asks for another.",
        "units",
        default="metric",
        example="inch",
    )
    include: f.Name | None = key(
        "File of kicks fitted to trials, next to this one.", example="fitted.toml"
    )
    mat: MatTable = must("The mat.")
    sizes: list[SizeTable] = must("Can sizes.", min_length=1, max_length=MAX_SIZES)
    guides: GuidesTable = key("Side guides of every stage.", default=GuidesTable())
    every_stage: StageTable | None = key("What a stage has where neither it nor its like says it.")
    header_patterns: dict[f.Name, HeaderTable] = key(
        "What headers have alike, a table [header_patterns.<name>] for each kind.",
        default={},
        max_length=MAX_ROWS,
    )
    stages: list[StageTable] = must("In order along travel.", min_length=1, max_length=MAX_STAGES)
    history: list[HistoryRow] = key(
        "What the line is known to have done.", default=[], max_length=MAX_ROWS
    )
    assumed: list[AssumedTable] = key(
        "Further values nobody measured.", default=[], max_length=MAX_ROWS
    )


class FittedTable(Table):
    """Kicks of one duty as fitted to a trial."""

    energy: f.ExactEnergy = must("Mean energy a kick gives a can.")
    low: f.ExactEnergy | None = key("Least energy the trial allows.")
    high: f.ExactEnergy | None = key("Most energy the trial allows.")
    kicks_per_second: f.ExactRate | None = key("Kicks a can gets per second.")
    trial: f.Name = must("The trial.", example="week 12")


class FittedFile(Table):
    """What a scenario may include: fitted kicks by duty, ``[kicks.<duty>]``."""

    schema_: int = key(f"Layout of this file: {SCHEMA}.", default=SCHEMA, alias="schema")
    kicks: dict[Duty, FittedTable] = key(
        "One table for each duty the trials tell of.", default={}, max_length=len(DUTIES)
    )

    @field_validator("kicks", mode="before")
    @classmethod
    def _each_duty_once(cls, raw: object) -> object:
        if isinstance(raw, dict) and {"flood", "wash"} <= raw.keys():
            raise refusal("one table for flood and wash, which are the same duty")
        return raw


class _Day(Reader):
    """Annotation of a date without a time."""

    def read(self, raw: object) -> dt.date:
        if isinstance(raw, dt.date) and not isinstance(raw, dt.datetime) and raw.year >= 1950:
            return raw
        raise refusal("a date from 1950 on, such as 2025-03-04")


def count_key(about: str) -> Any:
    """Declare a key that holds a number of cans and may be left out."""
    return key(about, ge=0, le=_MOST)


class StageRow(Table):
    """One stage of a trial."""

    stage: f.Name = must("Name of the stage, as in the scenario.")
    clear_width: f.ExactLength | None = key("Clear width here; the trial's own where left out.")
    tipped: int | None = count_key("Cans tipped in this stage.")
    tipped_left: int | None = count_key("Of these at the left edge.")
    tipped_centre: int | None = count_key("Of these in the centre.")
    tipped_right: int | None = count_key("Of these at the right edge.")


class TrialRow(Table):
    """One setting tried."""

    name: f.Name = must("What to call it.", "name")
    date: Annotated[dt.date, _Day()] = must("Day it was run.", "date")
    size: f.Name = must("Can size, as in the scenario.", "size")
    line: f.Text = key("Which line, where there are several.", "line", default="")
    cans: int = must("Cans passed.", "cans", ge=1, le=_MOST)
    clear_width: f.ExactLength | None = key("Clear width of every stage; as set where left out.")
    tipped: int | None = count_key("Cans tipped in all stages; their sum where left out.")
    tipped_left: int | None = count_key("Of the tipped at the left edge.")
    tipped_centre: int | None = count_key("Of the tipped in the centre.")
    tipped_right: int | None = count_key("Of the tipped at the right edge.")
    remarks: f.Text = key("Anything worth knowing.", default="")
    stages: list[StageRow] = key(
        "Stages set or counted by themselves.", default=[], max_length=MAX_ROWS
    )


class TrialFile(Table):
    """Trials of one line."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema")
    about: f.Text = key("What the trials stand for.", default="")
    trials: list[TrialRow] = must(
        "One table for each setting tried.", min_length=1, max_length=MAX_ROWS
    )


OF_WIDTH: Final = tuple(name for name in keys(TrialRow) if name in keys(StageRow))
"""Columns of a stage, or of the whole line where the row names no stage."""

OF_TRIAL: Final = ("date", "size", "line", "cans")

COLUMNS: Final = ("trial", *OF_TRIAL, "stage", *OF_WIDTH, "remarks")
"""Columns of a trial sheet, in any order; a row without a stage speaks of the whole line."""
