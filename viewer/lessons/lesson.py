"""Lessons: scripted scenes with captions, pauses and questions, read from TOML.

The numbers in a caption are packsim's, so that no lesson states a number of its own.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from packsim.errors import InputError, InputErrors, one_of
from packsim.line import Scenario, Stage
from packsim.line.knobs import knob, with_kick_energy
from packsim.passage.track import loaded_track
from packsim.report.words.display import Display
from packsim.scenario.lesson_tables import ChangesRow, LessonFile, SceneRow, read_lesson_file
from packsim.scenario.load import load_scenario
from packsim.width.lane_rule import packs_at
from viewer.lessons.claims import Claim, check_answers, holds, read_claim
from viewer.lessons.numbers import Ran, both, check_text, names_of, numbers_of
from viewer.line import LoadedLine, answers_of


@dataclass(frozen=True, slots=True)
class Scene:
    """One scene: its row of the file, the stage chosen, the lines on the only or both mats.

    ``seeds`` are those of the passages, ``answers`` what makes each choice of its question right,
    ``until`` what a reader has to reach.
    """

    row: SceneRow
    stage: int
    packs: tuple[LoadedLine, ...]
    seeds: tuple[int, ...]
    answers: tuple[Claim, ...] = ()
    until: Claim = ()


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson: its goal and takeaway, its scenes, and the line it begins with."""

    title: str
    goal: str
    takeaway: str
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
    seed = scenario.seed if file.seed is None else file.seed
    try:
        start = LoadedLine(scenario, scenario.size(file.size or scenario.set_for).name)
        for key in ("goal", "takeaway"):
            check_text(key, getattr(file, key), ())
        scenes = _scenes(file, start, seed)
    except InputError as problem:
        raise problem.in_file(str(path)) from None
    return Lesson(file.title, file.goal, file.takeaway, start, seed=seed, scenes=scenes)


def _scenes(file: LessonFile, start: LoadedLine, seed: int) -> tuple[Scene, ...]:
    names = tuple(stage.name for stage in start.scenario.stages)
    scenes: list[Scene] = []
    problems: list[InputError] = []
    for i, row in enumerate(file.scenes):
        found = [*_wrong(row, names, start)]
        if not found:
            try:
                scenes.append(_scene(row, names, start, seed))
            except InputError as problem:
                found = [problem]
        problems += [problem.under(f"scenes[{i}]") for problem in found]
    if problems:
        raise InputErrors(problems)
    return tuple(scenes)


def _scene(row: SceneRow, names: tuple[str, ...], start: LoadedLine, seed: int) -> Scene:
    """Return a scene whose texts and changes are right; its comparisons are read and tried."""
    stage = names.index(row.stage or names[0])
    rows = [row.first] if row.second is None else [row.first, row.second]
    packs = tuple(changed(start, each, stage) for each in rows)
    seeds = (seed, seed if row.second_seed is None else row.second_seed)
    numbers = both([numbers_of(p, answers_of(p)[stage], Ran(), stage, _SHOW) for p in packs])
    allowed = names_of(len(packs), run=row.running)
    answers: tuple[Claim, ...] = ()
    if row.question is not None:
        choices = enumerate(row.question.choices)
        keys = [(f"question.choices[{i}].when", choice.when) for i, choice in choices]
        answers = tuple(read_claim(key, when, allowed) for key, when in keys)
        try:
            check_answers(answers, numbers)
        except InputError as problem:
            raise problem.under("question") from None
    until = () if row.until is None else read_claim("until", row.until, names_of(1, run=True))
    if until and holds(until, numbers):
        raise InputError("until", row.until, "what does not hold when the scene begins")
    return Scene(row, stage, packs, seeds[: len(packs)], answers=answers, until=until)


def _wrong(row: SceneRow, names: tuple[str, ...], start: LoadedLine) -> Iterator[InputError]:
    """Yield what is wrong with a scene beyond its keys and types."""
    yield from _complaints(lambda: one_of("stage", row.stage or names[0], names))
    packs = 1 if row.second is None else 2
    said, told = names_of(packs, run=False), names_of(packs, run=row.running)
    texts = [("caption", row.caption, said), ("result", row.result or "", told)]
    if row.question is not None:
        texts += [("question.ask", row.question.ask, said)]
        texts += [("question.because", row.question.because, told)]
        choices = enumerate(row.question.choices)
        texts += [(f"question.choices[{i}].say", choice.say, said) for i, choice in choices]
    for key, text, allowed in texts:
        yield from _complaints(partial(check_text, key, text, allowed))
    stage = names.index(row.stage) if row.stage in names else 0
    for key, changes in (("first", row.first), ("second", row.second)):
        if changes is not None:
            tried = partial(_played, start, changes, stage)
            yield from (problem.under(key) for problem in _complaints(tried))
    yield from _contradictions(row)


def _contradictions(row: SceneRow) -> Iterator[InputError]:
    """Yield the keys of a scene that mean nothing beside its others."""
    if row.until_tips and not row.running:
        yield InputError("until_tips", row.until_tips, "a scene in which the pack runs")
    if row.until is not None and not row.hands:
        yield InputError("until", row.until, "hands = true beside it")
    if row.hands and row.question is not None:
        yield InputError("question", row.question.ask, "a scene of its own, without hands")
    if row.hands and not row.running:
        yield InputError("hands", "true", "a scene in which the pack runs")
    if row.second_seed is not None and row.second is None:
        yield InputError("second_seed", row.second_seed, "second beside it")


def _played(start: LoadedLine, changes: ChangesRow, stage: int) -> None:
    """Try what a scene will ask of packsim."""
    line = changed(start, changes, stage)
    for each in line.scenario.stages:
        check_on_mat(line.scenario, each, Display(line.scenario.units))
    loaded_track(line.scenario, line.size)
    found = answers_of(line)[stage]
    if isinstance(found, InputError):
        raise found


def check_on_mat(scenario: Scenario, stage: Stage, display: Display) -> None:
    """Raise `InputError` if a guide of a stage would stand beside the mat, in units of its own."""
    width = scenario.mat.width_mm
    for bracket in stage.guides.brackets:
        if bracket.left_mm < 0.0 or bracket.right_mm > width:
            reach = f"{display.bare(bracket.left_mm)} to {display.length(bracket.right_mm)}"
            raise InputError("guides", reach, f"faces on the mat, 0 to {display.length(width)}")


def _complaints(check: Callable[[], object]) -> Iterator[InputError]:
    try:
        check()
    except InputError as problem:
        yield problem


_SHOW = Display("metric")

_KNOBS = {
    "clear_width": knob("clear-width"),
    "shift": knob("shift"),
    "pack_fill": knob("fill"),
    "nozzle_pitch": knob("nozzle-pitch"),
    "hold_down": knob("hold-down"),
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
