"""A lesson file of the viewer: what it may contain."""

from pathlib import Path
from typing import Annotated, Final

from packsim.errors import InputError
from packsim.scenario.keys import Table, key, must
from packsim.scenario.line_tables import MAX_ROWS
from packsim.scenario.load import checked_tables
from packsim.scenario.places import TomlPlaces, placed
from packsim.scenario.renew import SCHEMA
from packsim.scenario.stage_tables import Rows
from packsim.scenario.text_files import current, read_text, shown
from packsim.scenario.values import fields as f
from packsim.scenario.values.readers import Choice, Of, Reader, Words, refusal, same

LOOKS: Final = ("as before", "line", "stage", "worst can", "edge", "middle")
"""What a scene looks at."""

_MAX_CAPTION: Final = 420
"""Longest caption, in characters: what three lines of a small window hold."""

_SECONDS: Final = Of("a time", "s", 0.0, 600.0, '6 or "6 s"', exact=True)
_SPEED: Final = Of("a multiple", "", 0.1, 8.0, "2", exact=True)
_PX_PER_MM: Final = Of("a scale in pixels per mm", "", 0.0, 10.0, "1.2", exact=True)


class Caption(Reader):
    """Annotation of a caption: its lines are joined, and it must fit the window."""

    def read(self, raw: object) -> str:
        """Return the caption in one line; raise the refusal of one that is empty or too long."""
        text = " ".join(raw.split()) if isinstance(raw, str) else ""
        if not 0 < len(text) <= _MAX_CAPTION:
            raise refusal(f"a text of 1 to {_MAX_CAPTION} letters")
        return text


class ChangesRow(Table):
    """What a scene changes on the line, for all stages unless it says otherwise."""

    clear_width: f.ExactLength | None = key("Clear width.")
    slack: f.ExactGap | None = key("Clear width less the pack's width.")
    shift: f.ExactPlace | None = key("Move of both guides to the right.")
    wire_heights: list[f.ExactLength] | None = key(
        "Lowest first.", min_length=1, max_length=MAX_ROWS
    )
    rows: Rows | None = key("How the rows of touching cans run.")
    pack_fill: f.ExactFill | None = key("Share of the perfect pack's cans.")
    kick_energy: f.ExactEnergy | None = key("Mean energy of a kick.")
    nozzle_pitch: f.ExactLength | None = key("Pitch of every header.")
    hold_down: f.ExactLength | None = key("Height of the hold-down mat's underside.")
    mat_speed: f.ExactSpeed | None = key("Speed.")
    size: f.Name | None = key("Can size on the line.")
    only_stage: bool = key("Whether only the scene's stage changes.", default=False)


class ChoiceRow(Table):
    """One answer to choose from."""

    say: Annotated[str, Words(80, blank=False)] = must("The answer, in words.")
    when: f.Name = must("What holds where it is right; nobody types which one is.")


class QuestionRow(Table):
    """A question of a scene, asked before its pack runs."""

    ask: f.Name = must("The question.")
    choices: list[ChoiceRow] = must("Answers to choose from.", min_length=2, max_length=4)
    because: Annotated[str, Caption()] = must("Why, said once the scene has run.")


class SceneRow(Table):
    """One scene."""

    caption: Annotated[str, Caption()] = must(
        "What is said before anything runs; a name in braces stands for packsim's number of the "
        "scene's stage."
    )
    result: Annotated[str, Caption()] | None = key(
        "What is said when the scene is over, with the numbers of its run."
    )
    seconds: Annotated[float, _SECONDS] = key(
        "How long the scene shows the pack, at its speed, before it ends or waits: "
        "seconds times speed of passage, however slow the computer.",
        default=6.0,
    )
    until_tips: int = key(
        "Ends the scene before that once so many cans tipped in it; 0 for not.",
        default=0,
        ge=0,
        le=1000,
    )
    wait: bool = key("Whether it waits for a key at its end.", default=True)
    running: bool = key("Whether the pack runs.", default=True)
    restart: bool = key("Whether the passage starts again.", default=False)
    look: Annotated[str, Choice(same(LOOKS))] = key("What to look at.", default="as before")
    stage: f.Name | None = key("Stage shown; the first if left out.")
    px_per_mm: Annotated[float, _PX_PER_MM] = key(
        "Scale on a window of 1280 by 720; 0 fits what is looked at.", default=0.0
    )
    sprays: bool = key("Whether footprints and doses are shown; they take room.", default=False)
    follow: bool = key("Whether the picture follows the pack.", default=False)
    speed: Annotated[float, _SPEED] = key("Shown seconds per second.", default=1.0)
    hands: bool = key(
        "Whether the reader changes the line: the scene then lasts until what `until` says, "
        "or Enter.",
        default=False,
    )
    until: f.Name | None = key("What has to hold on the only or upper pack, with `hands`.")
    first: ChangesRow = key("Changes of the only or upper pack.", default=ChangesRow())
    second: ChangesRow | None = key("Changes of the lower pack; none if left out.")
    second_seed: int | None = key(
        "Seed of the lower pack; that of the upper one if left out.", ge=0, le=2**63 - 1
    )
    question: QuestionRow | None = key("Asked before the pack runs, marked when it has.")


class LessonFile(Table):
    """A lesson: its scenes, and the scenario they are shown on."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema")
    title: f.Name = must("What it is called.")
    goal: Annotated[str, Caption()] = must("What one can do after it; said first.")
    takeaway: Annotated[str, Caption()] = must("What to remember; said last.")
    scenario: f.Name = must("Scenario file, seen from the lesson's folder.")
    size: f.Name | None = key("Can size; the one set for if left out.")
    seed: int | None = key("Seed of the passage.", ge=0, le=2**63 - 1)
    scenes: list[SceneRow] = must("In order.", min_length=1, max_length=MAX_ROWS)


def read_lesson_file(path: str | Path) -> LessonFile:
    """Read the tables of a lesson file, TOML as in scenarios/lessons.

    Every key and type is checked; names of sizes and stages are not, nor braces in captions. Raises
    `InputError` naming the file, the key, what was there and what is allowed.
    """
    file = shown(Path(path))
    text, data = current(read_text(Path(path), "a lesson file"), file, "a lesson")
    try:
        return checked_tables(data, LessonFile)
    except InputError as problem:
        raise placed(problem, file, data, TomlPlaces(text).of) from None
