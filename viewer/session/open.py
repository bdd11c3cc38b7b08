"""From options to a session: which file, which can, which second pack, which lesson."""

from __future__ import annotations

import argparse
from pathlib import Path

from packsim.errors import InputError
from packsim.passage.store import load_record
from packsim.scenario.load import load_scenario, parse_scenario
from viewer.lessons.lesson import load_lesson
from viewer.session.adjust import Setting
from viewer.session.camera_moves import look_at_line, look_at_stage
from viewer.session.lesson_play import begin_lesson
from viewer.session.replay import Replay
from viewer.session.session import Session
from viewer.session.source import Feed, Live

__all__ = ["open_session"]


def open_session(options: argparse.Namespace) -> Session:
    """Open what the options name.

    Parameters
    ----------
    options : argparse.Namespace
        From `viewer.session.options.read_options`.

    Returns
    -------
    Session
        At its beginning, cautions on the screen.

    Raises
    ------
    InputError
        If a file, a size or a stage does not exist or is bad.
    """
    if options.lesson is not None:
        return _lesson_session(options)
    feed, seed = _feed(options)
    session = _session(options, feed, seed, options.scenario.stem)
    if options.beside is not None:
        session.set_beside(_setting(options.beside, options.can))
    elif options.beside_can is not None:
        scenario = feed.setting.scenario
        session.set_beside(Setting(scenario, scenario.size(options.beside_can).name))
    look_at_line(session)
    stages = len(feed.picture.stages)
    if not 1 <= options.stage <= stages:
        raise InputError("--stage", options.stage, f"a stage from 1 to {stages}")
    session.stage = options.stage - 1
    session.follow = options.follow
    if options.look != "line":
        look_at_stage(session)
    return session


def _lesson_session(options: argparse.Namespace) -> Session:
    lesson = load_lesson(options.lesson)
    seed = lesson.seed if options.seed is None else options.seed
    feed = Live(Setting(lesson.scenario, lesson.size), seed)
    session = _session(options, feed, seed, options.lesson.stem)
    begin_lesson(session, lesson, alone=options.capture is not None)
    return session


def _session(options: argparse.Namespace, feed: Feed, seed: int, stem: str) -> Session:
    return Session(
        feed,
        options.size,
        scale=options.scale,
        seed=seed,
        folder=options.folder,
        stem=stem,
    )


def _feed(options: argparse.Namespace) -> tuple[Feed, int]:
    if options.scenario.suffix == ".npz":
        record = load_record(options.scenario)
        scenario = parse_scenario(record.scenario, file=str(options.scenario))
        return Replay(record, Setting(scenario, record.size)), record.seed
    setting = _setting(options.scenario, options.can)
    seed = setting.scenario.seed if options.seed is None else options.seed
    return Live(setting, seed), seed


def _setting(path: Path, can: str | None) -> Setting:
    scenario = load_scenario(path)
    return Setting(scenario, scenario.size(can or scenario.set_for).name)
