"""From the command line to a session: which file, can, second pack, lesson."""

import argparse
import re
from pathlib import Path
from typing import NoReturn

from packsim.constants import UNIT_SYSTEMS
from packsim.errors import InputError, one_of
from packsim.line import Scenario
from packsim.passage.store import load_record
from packsim.scenario.load import load_scenario, parse_scenario
from viewer.lessons.lesson import load_lesson
from viewer.lessons.menu import USUAL_FOLDER, read_menu
from viewer.line import LoadedLine
from viewer.screen.roles import PALETTES
from viewer.session.lesson_scenes import begin_lesson
from viewer.session.looking import look_at_line, look_at_stage, look_near, pick_worst, worst_stage
from viewer.session.replay import Replay
from viewer.session.session import Session
from viewer.session.source import Live, Source


def open_session(options: argparse.Namespace) -> Session:
    """Open what the options name; the cautions are on the screen.

    Raises `InputError` if a file, a size or a stage does not exist or is bad.
    """
    if options.lesson is not None:
        return _in_lesson(options, options.lesson)
    source, seed = _source(options)
    session = _session(options, source, seed, options.scenario.stem)
    if options.beside is not None:
        session.set_beside(_loaded(load_scenario(options.beside), options.size, "--size"))
    elif options.beside_size is not None:
        scenario = source.loaded.scenario
        session.set_beside(_loaded(scenario, options.beside_size, "--beside-size"))
    stages = source.line_map.stages
    first = stages[worst_stage(source.answers)]
    session.stage = stages.index(one_of("--stage", options.stage or first, stages))
    session.follow = options.follow
    look_first(session, options.look)
    if options.capture is None and isinstance(source, Live):
        session.tips_to_hold = 1  # the first tip is seen as it goes
    return session


def _in_lesson(options: argparse.Namespace, path: Path) -> Session:
    """Open a lesson; of a folder the first one, and the list of all after the cautions."""
    try:
        folder = path.is_dir()
    except OSError as problem:  # such as a name no file can have
        raise InputError("--lesson", path, f"a file ({problem.strerror})") from None
    menu = read_menu(path) if folder or path == USUAL_FOLDER else None
    written = next((name for name in ("capture", "handout") if getattr(options, name)), "")
    if menu is not None and written:
        raise InputError("--lesson", path, f"one lesson file beside --{written}")
    path = path if menu is None else menu.rows[0][0]
    lesson = load_lesson(path)
    seed = lesson.seed if options.seed is None else options.seed
    session = _session(options, Live(lesson.start, seed), seed, path.stem)
    session.lesson_folder, session.menu = path.parent, menu
    begin_lesson(session, lesson, alone=options.capture is not None)
    return session


LOOKS = ("near", "line", "stage", "worst", "tip")
"""What can be looked at first."""


def look_first(session: Session, look: str) -> None:
    """Look where the options say: at the line, the stage, the worst can of it, the next tip.

    Near is where cans of the stage tip first. Near and the worst can are of the stage that matters
    most, unless another is asked for.
    """
    if look == "line":
        look_at_line(session)
        return
    look_at_stage(session)
    if look == "near":
        look_near(session)
    if look == "tip":
        session.tips_to_hold = 1
    if look == "worst":
        pick_worst(session)
        session.camera = session.camera.zoomed(4.0)


def _session(options: argparse.Namespace, source: Source, seed: int, stem: str) -> Session:
    return Session(
        source,
        options.window,
        scale=options.scale,
        seed=seed,
        folder=options.folder,
        stem=stem,
        units=options.units or source.loaded.scenario.units,
        colours=options.colours,
        presenting=options.present,
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


TITLE = "Side-guide simulator for can packs"
"""Shown over the window and in the help."""

MAX_SIDE = 8192
"""Largest side of a window or a captured picture [px]."""

_NOT_WITH_LESSON = ("size", "beside", "beside_size", "stage", "after", "look", "follow")

_WITH_CAPTURE = ("seconds", "after", "fps", "drag")

_NUMBERS = (
    *(("seconds", 0.01, 36_000.0), ("fps", 0.1, 240.0)),
    *(("after", 0.0, 36_000.0), ("scale", 0.5, 4.0)),
)
"""Options that take a number, with their ends."""

_IF_LEFT_OUT = {"fps": 20.0, "after": 0.0}


def read_options(arguments: list[str]) -> argparse.Namespace:
    """Read the command line; `InputError` names the option, what was there and what is allowed."""
    parser = _Parser(
        prog="packsim-viewer",
        description=f"{TITLE}. Watch a can pack on its way through the washer, and change it "
        "while it runs.",
        allow_abbrev=False,
    )
    add = parser.add_argument
    add("scenario", nargs="?", type=Path, help="scenario file, or a recorded passage (.npz)")
    lists = "a lesson; a folder, or nothing, lists those of it, or of scenarios/lessons"
    add("--lesson", type=Path, metavar="FILE", nargs="?", const=USUAL_FOLDER, help=lists)
    add("--size", metavar="NAME", help="can size; the one the guides are set for if left out")
    add("--stage", metavar="NAME", help="stage shown first; the one --look means if left out")
    add("--beside", type=Path, metavar="FILE", help="second scenario, shown under the first")
    add("--beside-size", metavar="NAME", help="second pack: same line, another can size")
    add("--seed", metavar="NUMBER", help="seed of the passage; the scenario's own if left out")
    add("--window", default="1280x720", metavar="WxH", help="size of the window, 1280x720")
    add("--units", metavar="SYSTEM", help="metric, or inch; as the scenario says if left out")
    add("--scale", metavar="NUMBER", help="size of text and panels; chosen from the window")
    add("--colours", metavar="WHICH", default="light", help="light, or dark for a dark room")
    add("--present", action="store_true", help="large and with few parts, for a classroom")
    add("--folder", type=Path, default=Path(), help="where pictures and scenarios are saved")
    add("--capture", type=Path, metavar="OUT", help="no window: .png, .gif, .mp4 or a folder")
    add("--handout", type=Path, metavar="OUT", help="with --lesson: a page to print, .html")
    add("--seconds", metavar="NUMBER", help="how long a capture shows; 10, or the whole lesson")
    add("--after", metavar="NUMBER", help="seconds of passage before a capture, 0")
    add("--fps", metavar="NUMBER", help="pictures per second of a capture, 20")
    add("--look", metavar="WHAT", help="near (what matters most), line, stage, worst (can) or tip")
    add("--drag", metavar="WHAT", help='in a capture: "right guide -12 mm from 2 to 6" (seconds)')
    add("--follow", action="store_true", help="follow the pack")
    add("--replace", action="store_true", help="overwrite what a capture or handout finds")
    options = parser.parse_args(arguments)
    _check(options)
    return options


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Complain in one line, without the usage: of an option without its value, or unknown."""
        missing = re.match(r"argument (--[a-z-]+): expected", message)
        unknown = message.partition("unrecognized arguments: ")[2]
        if missing:
            raise InputError(missing[1], "nothing", "a value after it")
        name, _, _ = unknown.partition(" ")
        if name.startswith("-"):
            raise InputError(name, "no such option", "one that packsim-viewer --help lists")
        raise InputError("SCENARIO", unknown or message, "one file")


def _check(options: argparse.Namespace) -> None:
    if options.scenario is None and options.lesson is None:
        raise InputError("SCENARIO", "nothing", "a scenario file, or --lesson FILE")
    if options.lesson is not None:
        if options.scenario is not None:
            raise InputError("--lesson", "a scenario file too", "one of the two")
        for name in _NOT_WITH_LESSON:
            if getattr(options, name) not in (None, False):
                raise InputError(f"--{name.replace('_', '-')}", "--lesson too", "one of the two")
    if options.beside is not None and options.beside_size is not None:
        raise InputError("--beside-size", "--beside too", "one of the two")
    _check_written(options)
    _read_numbers(options)
    usual = "near" if options.capture is None else "line"
    one_of("--colours", options.colours, tuple(PALETTES))
    one_of("--units", options.units or "metric", UNIT_SYSTEMS)
    options.look = one_of("--look", options.look or usual, LOOKS)
    options.window = _window_px(options.window)
    if not options.folder.is_dir():
        raise InputError("--folder", options.folder, "a folder that exists")


def _check_written(options: argparse.Namespace) -> None:
    """Refuse what means nothing beside, or without, a capture or a handout."""
    if options.capture is None:
        with_one = _WITH_CAPTURE if options.handout else (*_WITH_CAPTURE, "replace")
        for name in with_one:
            if getattr(options, name) not in (None, False):
                raise InputError(f"--{name}", "no --capture", "--capture OUT beside it")
    if options.handout is None:
        return
    if options.lesson is None:
        raise InputError("--handout", "no --lesson", "--lesson FILE beside it")
    if options.capture is not None:
        raise InputError("--handout", "--capture too", "one of the two")
    if options.handout.suffix.lower() != ".html":
        raise InputError("--handout", options.handout, "a name that ends in .html")


def _read_numbers(options: argparse.Namespace) -> None:
    for name, low, high in _NUMBERS:
        if getattr(options, name) is not None:
            setattr(options, name, _number(f"--{name}", getattr(options, name), low, high))
        elif name in _IF_LEFT_OUT:
            setattr(options, name, _IF_LEFT_OUT[name])
    if options.seconds is None and options.lesson is None:
        options.seconds = 10.0
    if options.seed is not None:
        if not re.fullmatch(r"\d{1,18}", options.seed):
            raise InputError("--seed", repr(options.seed), "a whole number of 0 or more")
        options.seed = int(options.seed)


def _number(option: str, text: str, low: float, high: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise InputError(option, repr(text), f"a number from {low:g} to {high:g}")
    return value


def _window_px(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,5})[xX×](\d{1,5})", text.strip())
    if found:
        wide, tall = int(found[1]), int(found[2])
        if 320 <= wide <= MAX_SIDE and 200 <= tall <= MAX_SIDE:
            return wide, tall
    raise InputError("--window", repr(text), f"WIDTHxHEIGHT, 320x200 to {MAX_SIDE}x{MAX_SIDE}")
