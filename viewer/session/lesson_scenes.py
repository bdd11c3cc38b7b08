"""Plays a lesson in a session: sets the packs, the clock and the camera of each scene."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import ceil, inf
from pathlib import Path
from typing import Final

from viewer.lessons.claims import holds, right_of
from viewer.lessons.lesson import Lesson, Scene, load_lesson
from viewer.lessons.menu import read_menu
from viewer.lessons.numbers import Number, Ran, both, filled, numbers_of
from viewer.lessons.play import LessonPlay
from viewer.session.keys import key_label
from viewer.session.looking import look_at_line, look_at_stage
from viewer.session.moment import Moment
from viewer.session.session import Session
from viewer.session.source import Live

HURRY_STEPS = 40
"""So many steps a picture where the rest of a run is asked for at once."""

_USUAL_CANVAS_PX = 976.0
"""Width of the plan in the window a lesson's scales are given for [px]."""


def begin_lesson(session: Session, lesson: Lesson, *, alone: bool = False) -> None:
    """Open a lesson at its first scene."""
    session.lesson, session.scene_starts = LessonPlay(lesson, alone), {}
    show_scene(session, session.lesson, 0)


def open_lesson(session: Session, path: Path) -> None:
    """Leave what is shown, and open a lesson file; `InputError` if it is bad: all stays then."""
    lesson = load_lesson(path)
    window, seed = session.layout.window, lesson.seed
    session.show(Live(lesson.start, seed), (window.w, window.h), seed=seed, stem=path.stem)
    session.lesson_folder = path.parent
    begin_lesson(session, lesson)


def follow_lesson(session: Session, play: LessonPlay, passed_s: float) -> None:
    """Let time pass in a lesson: ask, run, say what came out, wait or go on."""
    if play.ended:
        play.rest_s += passed_s
        return
    still = play.over or play.asking or not play.scene.row.running
    play.spend(passed_s if session.clock.running or still else 0.0)
    if play.answered is not None and not play.begun:
        play.begun = True
        session.clock = replace(session.clock, running=play.scene.row.running, owed_s=0.0)
    _find_out(session, play)
    if play.waiting and not play.go_on:
        session.clock = replace(session.clock, running=False)
    elif (play.go_on or play.over) and play.at + 1 < len(play.lesson.scenes):
        show_scene(session, play, play.at + 1)
    elif play.go_on or play.over:
        play.ended, play.rest_s = True, 0.0
        session.clock = replace(session.clock, running=False)


def _find_out(session: Session, play: LessonPlay) -> None:
    """Look whether the reader has done what is asked for; once a scene is over, say its result."""
    scene, row = play.scene, play.scene.row
    if scene.until and not play.reached:
        play.reached = holds(scene.until, _numbers(session, scene))
    done = play.reached or not scene.until  # a film leaves the reader's part undone
    if done and play.over and not play.told and (row.result or row.question):
        numbers = _numbers(session, scene)
        because = "" if row.question is None else row.question.because
        told, why = (filled(text, numbers, session.display) for text in (row.result or "", because))
        play.mark(right_of(scene.answers, numbers), told, why)


def run_scene(session: Session, play: LessonPlay, steps: int) -> None:
    """Make the steps that are due, and stop where the scene is over."""
    until_tips = play.scene.row.until_tips > 0
    left = steps if play.left_s == inf else ceil(play.left_s / session.clock.dt_s - 1e-6)
    if play.hurry and not (play.over or play.ended):
        steps = max(steps, HURRY_STEPS)
    todo = steps if play.ended else min(steps, left)
    while True:
        now = 1 if until_tips and todo else todo
        session.step(now)
        todo -= now
        start = session.scene_starts[play.at]
        ran = session.packs[0].source.frame.time_s - start[0].state.time_s
        play.ran_s, play.tipped = ran, _tipped(session.moments) - _tipped(start)
        if not todo or (play.over and not play.ended):
            return


def _tipped(moments: tuple[Moment, ...]) -> int:
    return sum(int(moment.state.tips.sum()) for moment in moments)


def show_scene(session: Session, play: LessonPlay, at: int) -> None:
    """Begin a scene; one that was shown before begins as it did then."""
    play.turn_to(at)
    scene = play.scene
    _set_packs(session, scene)
    session.begin_at(session.scene_starts.setdefault(at, session.moments))
    row, session.stage, session.follow = scene.row, scene.stage, scene.row.follow
    session.sprays = row.sprays
    running = row.running and not play.asking
    session.clock = replace(session.clock.at_speed(row.speed), running=running, owed_s=0.0)
    # before looking: the words take room from the plans
    question, say = (
        row.question,
        partial(filled, numbers=_numbers(session, scene), display=session.display),
    )
    play.goal, play.takeaway = say(play.lesson.goal), say(play.lesson.takeaway)
    play.caption, play.ask = say(row.caption), say("" if question is None else question.ask)
    play.choices = () if question is None else tuple(say(each.say) for each in question.choices)
    _look(session, scene)


def _numbers(session: Session, scene: Scene) -> dict[str, Number]:
    """Return the numbers of a scene's stage, of the one or two packs on the screen."""
    packs = []
    for source in (pack.source for pack in session.packs):
        tipped = tuple(int(n) for n in source.tips[scene.stage])
        ran = Ran(tipped, source.flow[0], float(source.slack_now[1][scene.stage]))
        found = source.answers[scene.stage]
        packs.append(numbers_of(source.loaded, found, ran, scene.stage, session.display))
    return both(packs)


def _set_packs(session: Session, scene: Scene) -> None:
    session.active, session.chosen, restart = 0, None, scene.row.restart
    first, second = scene.packs[0], scene.packs[1] if len(scene.packs) > 1 else None
    if second is None:
        session.set_beside(None)
    upper = session.packs[0]
    if restart:
        upper.source.retune(first, restart=True)
        upper.picked = None
    elif upper.source.loaded != first:
        session.change(first)
    if second is None:
        return
    if len(session.packs) == 1 or restart:
        session.set_beside(second, scene.seeds[1])
    elif session.packs[1].source.loaded != second:
        session.active = 1
        session.change(second)
        session.active = 0


def _look(session: Session, scene: Scene) -> None:
    look = scene.row.look
    if look == "as before":
        return
    if look == "line":
        look_at_line(session)
        return
    look_at_stage(session)
    scale = scene.row.px_per_mm * session.layout.canvas.w / _USUAL_CANVAS_PX
    middle = session.camera.u_mm
    camera = session.camera.zoomed(scale / session.camera.px_per_mm if scale else 1.0)
    left, right = session.pack.source.line_map.faces_at(middle)
    if look == "edge":
        half = session.views[0].view.h / 2.0 / camera.px_per_mm
        camera = camera.centred(middle, left + 0.6 * half)
    elif look in ("worst can", "middle"):
        camera = camera.centred(middle, (left + right) / 2.0)
    session.camera = camera
    if look == "worst can":
        session.look_at_can(session.pack)


def _in_lesson(do: Callable[[Session, LessonPlay], None]) -> Callable[[Session, int], None]:
    def in_lesson(s: Session, _argument: int) -> None:
        if s.lesson is None:
            s.say(f"no lesson is open: {key_label('lessons')} lists them")
        else:
            do(s, s.lesson)

    return in_lesson


def _first_scene(s: Session, play: LessonPlay) -> None:
    s.scene_starts = {0: s.scene_starts[0]}
    show_scene(s, play, 0)


def _list_lessons(s: Session, _argument: int) -> None:
    s.menu, s.overlay = read_menu(s.lesson_folder), "lessons"


def _choose(s: Session, number: int) -> None:
    if s.menu is not None and 0 <= number < len(s.menu.rows):
        open_lesson(s, s.menu.rows[number][0])
        s.overlay = ""


def _mark(s: Session, by: int) -> None:
    if s.menu is not None:
        s.menu.move(by)


LESSON_ACTIONS: Final[dict[str, Callable[[Session, int], None]]] = {
    "lessons": _list_lessons,
    "lesson": _choose,
    "next scene": _in_lesson(lambda _s, play: play.press_on()),
    "scene back": _in_lesson(lambda s, play: show_scene(s, play, max(0, play.at - 1))),
    "first scene": _in_lesson(_first_scene),
}

MENU_ACTIONS: Final[dict[str, Callable[[Session, int], None]]] = {
    "lesson": _choose,
    "answer": _choose,
    "next scene": lambda s, _a: _choose(s, 0 if s.menu is None else s.menu.at),
    "pan up": lambda s, _a: _mark(s, -1),
    "pan down": lambda s, _a: _mark(s, 1),
}
"""What controls do while the lessons are listed."""
