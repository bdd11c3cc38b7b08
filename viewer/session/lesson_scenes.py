"""Plays a lesson in a session: sets the packs, the clock and the camera of each scene."""

from dataclasses import replace
from math import ceil

from viewer.lessons.lesson import Lesson, Scene, filled, numbers_of
from viewer.lessons.play import LessonPlay
from viewer.line import LoadedLine
from viewer.session.looking import look_at_line, look_at_stage
from viewer.session.moment import Moment
from viewer.session.session import Session

_USUAL_CANVAS_PX = 976.0
"""Width of the plan in the window a lesson's scales are given for [px]."""


def begin_lesson(session: Session, lesson: Lesson, *, alone: bool = False) -> None:
    """Open a lesson at its first scene."""
    session.lesson, session.scene_starts = LessonPlay(lesson, alone), {}
    show_scene(session, session.lesson, 0)


def follow_lesson(session: Session, play: LessonPlay, passed_s: float) -> None:
    """Let time pass in a lesson: go on, wait or ask."""
    if play.ended:
        return
    counts = session.clock.running or play.over or not play.scene.row.running
    play.spend(passed_s if counts else 0.0)
    if play.waiting and not play.go_on:
        session.clock = replace(session.clock, running=False)
    elif (play.go_on or play.over) and play.at + 1 < len(play.lesson.scenes):
        show_scene(session, play, play.at + 1)
    elif play.go_on or play.over:
        play.ended = True
        session.clock = replace(session.clock, running=False)
        session.say("end of the lesson")


def run_scene(session: Session, play: LessonPlay, steps: int) -> None:
    """Make the steps that are due, and stop where the scene is over."""
    until_tips = play.scene.row.until_tips > 0
    left = ceil(play.left_s / session.clock.dt_s - 1e-6)
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
    _set_packs(session, *scene.packs, restart=scene.row.restart)
    session.begin_at(session.scene_starts.setdefault(at, session.moments))
    row, session.stage, session.follow = scene.row, scene.stage, scene.row.follow
    session.clock = replace(session.clock.at_speed(row.speed), running=row.running, owed_s=0.0)
    # before looking: the words take room from the plans
    play.caption = filled(row.caption, [_numbers(session, i) for i in range(len(session.packs))])
    _look(session, scene)


def _numbers(session: Session, pack: int) -> dict[str, str]:
    source, stage = session.packs[pack].source, session.stage
    tipped = int(source.tips[stage].sum())
    return numbers_of(source.loaded, source.answers[stage], tipped, stage, session.display)


def _set_packs(
    session: Session, first: LoadedLine, second: LoadedLine | None = None, *, restart: bool
) -> None:
    session.active, session.chosen = 0, None
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
        session.set_beside(second)
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
