"""From options to a session: which file, which can, which second pack, which lesson."""

import argparse
from pathlib import Path

from packsim.errors import InputError, one_of
from packsim.line import Scenario
from packsim.passage.store import load_record
from packsim.scenario.load import load_scenario, parse_scenario
from viewer.lessons.lesson import load_lesson
from viewer.line.loaded import LoadedLine
from viewer.session.camera_moves import look_at_stage
from viewer.session.lesson_scenes import begin_lesson
from viewer.session.replay import Replay
from viewer.session.session import Session
from viewer.session.source import Live, Source


def open_session(options: argparse.Namespace) -> Session:
    """Open what the options name; the cautions are on the screen.

    Raises `InputError` if a file, a size or a stage does not exist or is bad.
    """
    if options.lesson is not None:
        lesson = load_lesson(options.lesson)
        seed = lesson.seed if options.seed is None else options.seed
        session = _session(options, Live(lesson.start, seed), seed, options.lesson.stem)
        begin_lesson(session, lesson, alone=options.capture is not None)
        return session
    source, seed = _source(options)
    session = _session(options, source, seed, options.scenario.stem)
    if options.beside is not None:
        session.set_beside(_loaded(load_scenario(options.beside), options.size, "--size"))
    elif options.beside_size is not None:
        scenario = source.loaded.scenario
        session.set_beside(_loaded(scenario, options.beside_size, "--beside-size"))
    stages = source.line_map.stages
    session.stage = stages.index(one_of("--stage", options.stage or stages[0], stages))
    session.follow = options.follow
    # two packs share the height: fitted again with both of them there
    session.look_at(0.0, source.line_map.length_mm)
    if options.look != "line":
        look_at_stage(session)
    return session


def _session(options: argparse.Namespace, source: Source, seed: int, stem: str) -> Session:
    return Session(
        source, options.window, scale=options.scale, seed=seed, folder=options.folder, stem=stem
    )


def _source(options: argparse.Namespace) -> tuple[Source, int]:
    path: Path = options.scenario
    if path.suffix == ".npz":
        for option, given in (("--size", options.size), ("--seed", options.seed)):
            if given is not None:
                raise InputError(option, given, "no such option with a recording: it has its own")
        record = load_record(path)
        scenario = parse_scenario(record.scenario, file=str(path))
        return Replay(record, LoadedLine(scenario, record.size)), record.seed
    loaded = _loaded(load_scenario(path), options.size, "--size")
    seed = loaded.scenario.seed if options.seed is None else options.seed
    return Live(loaded, seed), seed


def _loaded(scenario: Scenario, size: str | None, option: str) -> LoadedLine:
    names = tuple(can.name for can in scenario.sizes)
    return LoadedLine(scenario, one_of(option, size or scenario.set_for, names))
