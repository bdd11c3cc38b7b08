"""A lesson file of the viewer: what it may contain."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from packsim.errors import InputError
from packsim.line import LAYOUTS
from packsim.scenario import kinds as k
from packsim.scenario.complaints import written
from packsim.scenario.fields import Choice, Energy, Gap, Length, Name, Of, Place, Table, Text
from packsim.scenario.line_tables import MAX_ROWS
from packsim.scenario.quantities import Kind
from packsim.scenario.text_in import checked_tables, read_text, read_toml, shown

__all__ = ["LOOKS", "ChangesRow", "LessonFile", "QuestionRow", "SceneRow", "read_lesson_file"]

LOOKS: Final = ("as before", "line", "stage", "worst can", "edge", "middle")
"""What a scene looks at."""

_MAX_CAPTION: Final = 420
"""Longest caption, in characters: what three lines of a small window hold."""

_SCHEMA: Final = 1
_SECONDS: Final = Kind("a time", "s", "s", 0.0, 600.0, '6 or "6 s"')
_SPEED: Final = Kind("a multiple", "", "", 0.1, 8.0, "2")
_PX_PER_MM: Final = Kind("a scale in pixels per mm", "", "", 0.0, 10.0, "1.2")


class _Caption:
    """Annotation of a caption: its lines are joined, and it must fit the window."""

    def read(self, raw: object) -> str:
        """Return the caption on one line, or complain in pydantic's way."""
        text = " ".join(raw.split()) if isinstance(raw, str) else ""
        if not 0 < len(text) <= _MAX_CAPTION:
            allowed = f"a text of 1 to {_MAX_CAPTION} letters"
            raise PydanticCustomError("refused", "{allowed}", {"allowed": allowed})
        return text

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)


class ChangesRow(Table):
    """What a scene changes on the line, for all stages unless it says otherwise."""

    clear_width: Length | None = Field(default=None, description="Clear width.")
    slack: Gap | None = Field(default=None, description="Clear width less the pack's width.")
    shift: Place | None = Field(default=None, description="Move of both guides to the right.")
    wire_heights: list[Length] | None = Field(
        default=None, min_length=1, max_length=MAX_ROWS, description="Heights, lowest first."
    )
    layout: Annotated[str, Choice(LAYOUTS)] | None = Field(default=None, description="Rows.")
    fill: Annotated[float, Of(k.FILL)] | None = Field(default=None, description="Pack fill.")
    kick_energy: Energy | None = Field(default=None, description="Mean energy of a kick.")
    nozzle_pitch: Length | None = Field(default=None, description="Pitch of every header.")
    mat_speed: Annotated[float, Of(k.SPEED)] | None = Field(default=None, description="Speed.")
    size: Name | None = Field(default=None, description="Can size on the line.")
    only_stage: bool = Field(default=False, description="Whether only the scene's stage changes.")


class QuestionRow(Table):
    """A question at the end of a scene."""

    ask: Text = Field(description="The question.")
    choices: list[Name] = Field(min_length=2, max_length=4, description="Answers to choose from.")
    right: int = Field(ge=1, le=4, description="Which is right, counted from 1.")
    because: Text = Field(description="Why.")


class SceneRow(Table):
    """One scene."""

    caption: Annotated[str, _Caption()] = Field(
        description="What is said; names in braces stand for packsim's numbers."
    )
    seconds: Annotated[float, Of(_SECONDS)] = Field(
        default=6.0, description="How long the pack runs before the scene ends or waits."
    )
    wait: bool = Field(default=True, description="Whether it waits for a key at its end.")
    running: bool = Field(default=True, description="Whether the pack runs.")
    restart: bool = Field(default=False, description="Whether the passage starts again.")
    look: Annotated[str, Choice(LOOKS)] = Field(default="as before", description="What to look at.")
    stage: Name | None = Field(default=None, description="Stage shown; the first if left out.")
    px_per_mm: Annotated[float, Of(_PX_PER_MM)] = Field(
        default=0.0, description="Scale on a window of 1280 by 720; 0 fits what is looked at."
    )
    follow: bool = Field(default=False, description="Whether the picture follows the pack.")
    speed: Annotated[float, Of(_SPEED)] = Field(
        default=1.0, description="Shown seconds per second."
    )
    first: ChangesRow = Field(
        default=ChangesRow(), description="Changes of the only or upper pack."
    )
    second: ChangesRow | None = Field(
        default=None, description="Changes of the lower pack; none if left out."
    )
    question: QuestionRow | None = Field(default=None, description="Asked at the end.")


class LessonFile(Table):
    """A lesson: its scenes, and the scenario they are shown on."""

    schema_: int = Field(alias="schema", description=f"Layout of this file: {_SCHEMA}.")
    title: Name = Field(description="What it is called.")
    about: Text = Field(default="", description="What it is for.")
    scenario: Name = Field(description="Scenario file, seen from the lesson's folder.")
    size: Name | None = Field(default=None, description="Can size; the one set for if left out.")
    seed: int | None = Field(default=None, ge=0, le=2**63 - 1, description="Seed of the passage.")
    scenes: list[SceneRow] = Field(min_length=1, max_length=MAX_ROWS, description="In order.")


def read_lesson_file(path: str | Path) -> LessonFile:
    """Read the tables of a lesson file.

    Parameters
    ----------
    path : str or Path
        A TOML file as in scenarios/lessons.

    Returns
    -------
    LessonFile
        Every key and type checked; names of sizes and stages are not, nor braces in captions.

    Raises
    ------
    InputError
        Naming the file, the key, what was there and what is allowed.
    """
    file = shown(Path(path))
    data = read_toml(read_text(Path(path), "a lesson file"), file, "a lesson")
    schema = data.get("schema", _SCHEMA)
    if type(schema) is not int or schema != _SCHEMA:
        allowed = f"the whole number {_SCHEMA}, the only layout there is so far"
        raise InputError("schema", written(schema), allowed, file=file)
    return checked_tables(data, LessonFile, file)
