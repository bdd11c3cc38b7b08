"""Lessons: scripted scenes with captions, pauses and questions, read from TOML."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from packsim.check import one_of
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario.load import load_scenario
from viewer.lessons.lesson_changes import changed
from viewer.lessons.tables import known, number, typed
from viewer.session.adjust import Setting

__all__ = ["LOOKS", "Lesson", "LessonScene", "Question", "load_lesson"]

LOOKS = ("as before", "line", "stage", "worst can", "edge", "middle")
"""What a scene looks at."""

MAX_CAPTION = 420
"""Longest caption, in characters: what three lines of a small window hold."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question at the end of a scene; ``right`` counts from 0."""

    ask: str
    choices: tuple[str, ...]
    right: int
    because: str


@dataclass(frozen=True, slots=True)
class LessonScene:
    """One scene.

    Parameters
    ----------
    caption : str
        What is said; ``{slack}``, ``{safe}`` and the other names of `viewer.lessons.captions`
        stand for packsim's numbers.
    seconds : float
        How long the pack runs before the scene ends or waits [s].
    wait : bool
        Whether it waits for a key at its end.
    running : bool
        Whether the pack runs.
    restart : bool
        Whether the passage begins anew.
    look : str
        One of `LOOKS`.
    stage : int
        Stage that is chosen.
    px_per_mm : float
        Scale on a window of 1280 × 720, 0 to fit what is looked at [px/mm].
    follow : bool
        Whether the camera rides with the pack.
    speed : float
        Shown seconds per second [-].
    first, second : dict or None
        Changes of the only or upper pack, and of the lower one; None for no second pack.
    question : Question or None
        Asked at the end.
    """

    caption: str
    seconds: float
    wait: bool = True
    running: bool = True
    restart: bool = False
    look: str = "as before"
    stage: int = 0
    px_per_mm: float = 0.0
    follow: bool = False
    speed: float = 1.0
    first: dict[str, Any] = field(default_factory=dict)
    second: dict[str, Any] | None = None
    question: Question | None = None


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson: its scenes, and the line it is shown on."""

    title: str
    about: str
    scenario: Scenario
    size: str
    seed: int
    scenes: tuple[LessonScene, ...]


def load_lesson(path: str | Path) -> Lesson:
    """Read a lesson and the scenario it names, and try every change once.

    Parameters
    ----------
    path : str or Path
        A TOML file as in scenarios/lessons.

    Returns
    -------
    Lesson
        Checked.

    Raises
    ------
    InputError
        Naming the file, the key, what was there and what is allowed.
    """
    place = Path(path)
    try:
        data = tomllib.loads(place.read_text(encoding="utf-8"))
    except OSError as problem:
        got = problem.strerror or "no such file"
        raise InputError("", got, "a lesson file", file=str(path)) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise InputError("", str(problem), "a TOML file", file=str(path)) from None
    try:
        return _lesson(data, place.parent)
    except InputError as problem:
        raise (problem if problem.file else problem.in_file(str(path))) from None


def _lesson(data: dict[str, Any], folder: Path) -> Lesson:
    known("", data, {"schema", "title", "about", "scenario", "size", "seed", "scenes"})
    if data.get("schema") != 1:
        raise InputError("schema", data.get("schema"), "1, the only layout there is so far")
    scenario = load_scenario(folder / typed(data, "scenario", str))
    size = typed(data, "size", str, scenario.set_for)
    rows = typed(data, "scenes", list)
    if not rows:
        raise InputError("scenes", "none", "at least one scene")
    scenes = tuple(_scene(row, f"scenes[{i}]", scenario) for i, row in enumerate(rows))
    lesson = Lesson(
        typed(data, "title", str),
        typed(data, "about", str, ""),
        scenario,
        scenario.size(size).name,
        typed(data, "seed", int, scenario.seed),
        scenes,
    )
    start = Setting(scenario, lesson.size)
    for i, scene in enumerate(scenes):
        for name, changes in (("first", scene.first), ("second", scene.second or {})):
            try:
                changed(start, changes, scene.stage)
            except InputError as problem:
                raise problem.under(f"scenes[{i}].{name}") from None
    return lesson


def _scene(row: Any, key: str, scenario: Scenario) -> LessonScene:
    if not isinstance(row, dict):
        raise InputError(key, row, "a table")
    try:
        known("", row, set(LessonScene.__dataclass_fields__))
        names = tuple(stage.name for stage in scenario.stages)
        stage = one_of("stage", typed(row, "stage", str, names[0]), names)
        look = one_of("look", typed(row, "look", str, "as before"), LOOKS)
        return LessonScene(
            _caption(row),
            number(row, "seconds", 0.0, 600.0, 6.0),
            typed(row, "wait", bool, True),
            typed(row, "running", bool, True),
            typed(row, "restart", bool, False),
            look,
            names.index(stage),
            number(row, "px_per_mm", 0.0, 10.0, 0.0),
            typed(row, "follow", bool, False),
            number(row, "speed", 0.1, 8.0, 1.0),
            typed(row, "first", dict, {}),
            typed(row, "second", dict, None),
            _question(row.get("question")),
        )
    except InputError as problem:
        raise problem.under(key) from None


def _caption(row: dict[str, Any]) -> str:
    caption = " ".join(typed(row, "caption", str).split())
    if not 0 < len(caption) <= MAX_CAPTION:
        raise InputError("caption", f"{len(caption)} letters", f"1 to {MAX_CAPTION} letters")
    return caption


def _question(row: Any) -> Question | None:
    if row is None:
        return None
    known("question", row, {"ask", "choices", "right", "because"})
    choices = tuple(str(choice) for choice in typed(row, "choices", list))
    if not 2 <= len(choices) <= 4:
        raise InputError("question.choices", f"{len(choices)} choices", "2 to 4")
    right = typed(row, "right", int)
    if not 1 <= right <= len(choices):
        raise InputError("question.right", right, f"1 to {len(choices)}")
    return Question(typed(row, "ask", str), choices, right - 1, typed(row, "because", str))
