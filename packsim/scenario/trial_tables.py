"""The trial file as a whole, and the columns of a trial sheet: what they may contain."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Final

from packsim.scenario.fields import Length, Name, Reader, Table, Text, key, keys, must, refusal
from packsim.scenario.line_tables import MAX_ROWS
from packsim.scenario.tables import SCHEMA

__all__ = ["COLUMNS", "OF_TRIAL", "OF_WIDTH", "StageRow", "TrialFile", "TrialRow"]

_MOST: Final = 10**12
"""More cans than any line passes in its life: above it the number is a slip."""


class _Day(Reader):
    """Annotation of a date without a time."""

    def read(self, raw: object) -> dt.date:
        if isinstance(raw, dt.date) and not isinstance(raw, dt.datetime) and raw.year >= 1950:
            return raw
        raise refusal("a date from 1950 on, such as 2025-03-04")


def _count(about: str) -> Any:
    return key(about, ge=0, le=_MOST)


class StageRow(Table):
    """One stage of a trial."""

    stage: Name = must("Name of the stage, as in the scenario.")
    clear_width: Length | None = key("Clear width here; the trial's own where left out.")
    tipped: int | None = _count("Cans tipped in this stage.")
    tipped_left: int | None = _count("Of these at the left edge.")
    tipped_centre: int | None = _count("Of these in the centre.")
    tipped_right: int | None = _count("Of these at the right edge.")


class TrialRow(Table):
    """One setting tried."""

    name: Name = must("What to call it.")
    date: Annotated[dt.date, _Day()] = must("Day it was run.")
    size: Name = must("Can size, as in the scenario.")
    line: Text = key("Which line, where there are several.", default="")
    cans: int = must("Cans passed.", ge=1, le=_MOST)
    clear_width: Length | None = key("Clear width of every stage; as set where left out.")
    tipped: int | None = _count("Cans tipped in all stages; their sum where left out.")
    tipped_left: int | None = _count("Of the tipped at the left edge.")
    tipped_centre: int | None = _count("Of the tipped in the centre.")
    tipped_right: int | None = _count("Of the tipped at the right edge.")
    remarks: Text = key("Anything worth knowing.", default="")
    stages: list[StageRow] = key(
        "Stages set or counted by themselves.", default=[], max_length=MAX_ROWS
    )


class TrialFile(Table):
    """Trials of one line."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema")
    about: Text = key("What the trials stand for.", default="")
    trials: list[TrialRow] = must(
        "One table for each setting tried.", min_length=1, max_length=MAX_ROWS
    )


OF_WIDTH: Final = tuple(name for name in keys(TrialRow) if name in keys(StageRow))
"""Columns of a stage, or of the whole line where the row names no stage."""

OF_TRIAL: Final = ("date", "size", "line", "cans")

COLUMNS: Final = ("trial", *OF_TRIAL, "stage", *OF_WIDTH, "remarks")
"""Columns of a trial sheet, in any order; a row without a stage speaks of the whole line."""
