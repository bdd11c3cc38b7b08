"""Lessons: scripted scenes with captions, pauses and questions, read from TOML.

The numbers in a caption are packsim's, so that no lesson states a number of its own.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import QUANTITIES
from packsim.errors import InputError, InputErrors, one_of
from packsim.line import Scenario, Stage
from packsim.line.knobs import knob, with_kick_energy
from packsim.passage.track import loaded_track
from packsim.report.words.display import Display
from packsim.report.words.numbers import thousands
from packsim.scenario.lesson_tables import (
    ChangesRow,
    LessonFile,
    QuestionRow,
    SceneRow,
    read_lesson_file,
)
from packsim.scenario.load import load_scenario
from packsim.width.lane_rule import packs_at
from viewer.line import LoadedLine, answers_of
from viewer.screen.drawing import NO_BREAK


@dataclass(frozen=True, slots=True)
class Scene:
    """One scene: its row of the file, the stage chosen, the lines on the only or both mats."""

    row: SceneRow
    stage: int
    packs: tuple[LoadedLine, ...]


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson: its scenes, and the line it begins with."""

    title: str
    start: LoadedLine
    seed: int
    scenes: tuple[Scene, ...]


def load_lesson(path: str | Path) -> Lesson:
    """Read a lesson (TOML, as in scenarios/lessons) and the scenario it names.

    Every name and every change is tried: playing it finds nothing more to complain about. Raises
    `InputError` naming the file, every wrong key, what was there and what is allowed.
    """
    file = read_lesson_file(path)
    scenario = load_scenario(Path(path).parent / file.scenario)
    try:
        start = LoadedLine(scenario, scenario.size(file.size or scenario.set_for).name)
        scenes = _scenes(file, start)
    except InputError as problem:
        raise problem.in_file(str(path)) from None
    seed = scenario.seed if file.seed is None else file.seed
    return Lesson(file.title, start, seed, scenes)


def _scenes(file: LessonFile, start: LoadedLine) -> tuple[Scene, ...]:
    names = tuple(stage.name for stage in start.scenario.stages)
    scenes, problems = [], []
    for i, row in enumerate(file.scenes):
        problems += [problem.under(f"scenes[{i}]") for problem in _wrong(row, names, start)]
        if not problems:
            stage = names.index(row.stage or names[0])
            rows = [row.first] if row.second is None else [row.first, row.second]
            scenes.append(Scene(row, stage, tuple(changed(start, each, stage) for each in rows)))
    if problems:
        raise InputErrors(problems)
    return tuple(scenes)


def _wrong(row: SceneRow, names: tuple[str, ...], start: LoadedLine) -> Iterator[InputError]:
    """Yield what is wrong with a scene beyond its keys and types."""
    yield from _complaints(lambda: one_of("stage", row.stage or names[0], names))
    yield from _complaints(lambda: check_names(row.caption, 1 if row.second is None else 2))
    stage = names.index(row.stage) if row.stage in names else 0
    for key, changes in (("first", row.first), ("second", row.second)):
        if changes is not None:
            tried = partial(_played, start, changes, stage)
            yield from (problem.under(key) for problem in _complaints(tried))
    if row.until_tips and not row.running:
        yield InputError("until_tips", row.until_tips, "a scene in which the pack runs")
    if row.question is not None:
        yield from (problem.under("question") for problem in _wrong_question(row.question))


def _wrong_question(question: QuestionRow) -> Iterator[InputError]:
    many = len(question.choices)
    if question.right > many:
        yield InputError("right", question.right, f"1 to {many}")
    texts = {"ask": question.ask, "because": question.because}
    texts |= {f"choices[{i}]": choice for i, choice in enumerate(question.choices)}
    for key, text in texts.items():
        yield from _complaints(partial(_no_braces, key, text, "names in braces in captions alone"))


def _played(start: LoadedLine, changes: ChangesRow, stage: int) -> None:
    """Try what a scene will ask of packsim."""
    line = changed(start, changes, stage)
    for each in line.scenario.stages:
        check_on_mat(line.scenario, each)
    loaded_track(line.scenario, line.size)
    found = answers_of(line)[stage]
    if isinstance(found, InputError):
        raise found


def check_on_mat(scenario: Scenario, stage: Stage) -> None:
    """Raise `InputError` if a guide of a stage would stand beside the mat."""
    width = scenario.mat.width_mm
    for bracket in stage.guides.brackets:
        if bracket.left_mm < 0.0 or bracket.right_mm > width:
            reach = f"{bracket.left_mm:.1f} to {bracket.right_mm:.1f} mm"
            raise InputError("guides", reach, f"faces on the mat, 0 to {width:g} mm")


def _complaints(check: Callable[[], object]) -> Iterator[InputError]:
    try:
        check()
    except InputError as problem:
        yield problem


_KNOBS = {
    "clear_width": knob("clear-width"),
    "shift": knob("shift"),
    "pack_fill": knob("fill"),
    "nozzle_pitch": knob("nozzle-pitch"),
}


def changed(loaded: LoadedLine, changes: ChangesRow, stage: int) -> LoadedLine:
    """Return a line with a scene's changes; what is None in them stays.

    Raises `InputError` if the line cannot be so.
    """
    scenario = loaded.scenario
    size = changes.size or loaded.size
    diameter = scenario.size(size).diameter_mm
    which = [stage] if changes.only_stage else range(len(scenario.stages))
    stages = list(scenario.stages)
    for i in which:
        stages[i] = _changed_stage(stages[i], changes, diameter)
    mat = scenario.mat
    if changes.mat_speed is not None:
        mat = replace(mat, speed_mm_per_s=changes.mat_speed)
    return LoadedLine(replace(scenario, stages=tuple(stages), mat=mat), size)


def _changed_stage(stage: Stage, changes: ChangesRow, diameter: float) -> Stage:
    stage = replace(stage, layout=changes.rows or stage.layout)
    for key, each in _KNOBS.items():
        value = getattr(changes, key)
        if value is not None:
            stage = each.turn(stage, value)
    if changes.slack is not None:
        packs = packs_at(stage.guides.narrowest_mm, diameter, stage.layout, stage.fill)
        stage = stage.with_clear_width(packs.judged.pack_width_mm + changes.slack)
    if changes.wire_heights is not None:
        wires = replace(stage.guides.wires, heights_mm=tuple(changes.wire_heights))
        stage = replace(stage, guides=replace(stage.guides, wires=wires))
    if changes.kick_energy is not None:
        stage = with_kick_energy(stage, changes.kick_energy)
    return stage


_NAME = re.compile(r"\{([^{}]*)\}")


_AS_SET: Final[Mapping[str, Callable[[Answer, Display], str]]] = {
    "edge_lean": lambda a, d: d.angle(a.tipping.nominal.edge_lean_rad),
    "centre_lean": lambda a, d: d.angle(a.tipping.nominal.centre_lean_rad),
    "window": lambda a, d: d.window(a.window, unit=True),
}
"""Leans with the slack as set, and both ends of the guide window in one."""

NAMES: Final[Mapping[str, str]] = {
    "size": "Can size on the line.",
    "tipped": "Cans tipped at the stage when the scene begins.",
    "edge_lean": "Lean of a can beside the guide with the slack as set.",
    "centre_lean": "Lean of a can inside the pack with the slack as set.",
    "window": "Guide window, both ends.",
    **{one.key: one.meaning for one in QUANTITIES},
}
"""What a caption may ask for in braces, with its meaning, quantities by their keys; ``_2`` after
it: of the second pack."""


def check_names(caption: str, packs: int) -> None:
    """Raise `InputError` if a caption asks for a number there is not, with one or two packs."""
    allowed = [*NAMES, *(f"{name}_2" for name in NAMES if packs == 2)]
    for name in _NAME.findall(caption):
        if name not in allowed:
            raise InputError("caption", "{" + name + "}", "one of " + ", ".join(allowed))
    _no_braces("caption", _NAME.sub("", caption), "a { and a } around a name, such as {slack_mm}")


def _no_braces(key: str, text: str, allowed: str) -> None:
    for brace in "{}":
        if brace in text:
            raise InputError(key, brace, allowed)


def filled(caption: str, packs: Sequence[Mapping[str, str]]) -> str:
    """Return a caption with its names in braces replaced by the numbers of one or two packs.

    The caption has passed `check_names`, the numbers are from `numbers_of`; numbers and units stay
    on one line.
    """
    values = {**packs[0], **{f"{name}_2": text for name, text in packs[-1].items()}}
    return _NAME.sub(lambda found: values[found[1]].replace(" ", NO_BREAK), caption)


def numbers_of(
    loaded: LoadedLine,
    found: Answer | InputError,
    tipped: int,
    stage: int,
    display: Display,
) -> dict[str, str]:
    """Return every number a caption may show about one stage of a pack; a dash for none."""
    values = dict.fromkeys(NAMES, "–")
    values["size"] = loaded.size
    values["clear_width_mm"] = display.length(loaded.scenario.stages[stage].guides.narrowest_mm)
    values["tipped"] = thousands(tipped)
    if isinstance(found, Answer):
        values |= {one.key: display.show(one.kind, one.of(found)) for one in QUANTITIES}
        values |= {name: text(found, display) for name, text in _AS_SET.items()}
    return values
