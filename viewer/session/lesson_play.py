"""Plays a lesson: when a scene begins, ends, waits, or asks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viewer.lessons.captions import filled
from viewer.lessons.lesson import Lesson, LessonScene
from viewer.lessons.lesson_changes import changed
from viewer.screen.camera import Camera
from viewer.session.adjust import Setting
from viewer.session.camera_moves import look_at_line, look_at_stage
from viewer.views.plan import index_of

if TYPE_CHECKING:
    from viewer.session.session import Session

__all__ = ["LessonPlay", "begin_lesson", "follow_lesson"]

READ_S = 4.0
"""Without anybody at the keys a scene that waits, or a question, goes on after this [s]."""


@dataclass
class LessonPlay:
    """How far a lesson is.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    alone : bool
        True to go on without keys, as a film does.
    at, spent_s : int, float
        Scene shown, −1 before the first, and the time it has been on [s].
    caption : str
        What is said now.
    go_on : bool
        Whether the next scene is asked for.
    answered : int or None
        The answer picked.
    ended : bool
        Whether the last scene is over.
    """

    lesson: Lesson
    alone: bool = False
    at: int = -1
    spent_s: float = 0.0
    caption: str = ""
    go_on: bool = False
    answered: int | None = None
    ended: bool = False

    @property
    def scene(self) -> LessonScene:
        """The scene shown."""
        return self.lesson.scenes[max(0, self.at)]

    @property
    def over(self) -> bool:
        """Whether the scene's time is up."""
        return self.spent_s >= self.scene.seconds

    @property
    def asking(self) -> bool:
        """Whether a question stands open."""
        return self.over and self.scene.question is not None and self.answered is None

    @property
    def waiting(self) -> bool:
        """Whether the pack stands still until a key is pressed."""
        return self.over and (self.scene.wait or self.scene.question is not None)

    def answer(self, choice: int) -> None:
        """Take an answer, if there is such a choice."""
        question = self.scene.question
        if question is not None and 0 <= choice < len(question.choices):
            self.answered = choice


def begin_lesson(session: Session, lesson: Lesson, *, alone: bool = False) -> None:
    """Open a lesson at its first scene."""
    session.lesson = LessonPlay(lesson, alone)
    _show(session, session.lesson, 0)


def follow_lesson(session: Session, play: LessonPlay, passed_s: float) -> None:
    """Let time pass in a lesson: go on, wait or ask."""
    if play.ended:
        return
    if session.clock.running or play.over or not play.scene.running:
        play.spent_s += passed_s
    rest = play.spent_s - play.scene.seconds
    if play.alone and play.asking and rest >= READ_S:
        play.answered = play.scene.question.right if play.scene.question else None
    if play.alone and rest >= (2.0 if play.scene.question else 1.0) * READ_S:
        play.go_on = True
    if play.asking:
        play.go_on = False
    if play.waiting and not play.go_on:
        session.clock = replace(session.clock, running=False)
        return
    if play.go_on or play.over:
        play.go_on = False
        if play.at + 1 < len(play.lesson.scenes):
            _show(session, play, play.at + 1)
        else:
            play.ended = True
            session.clock = replace(session.clock, running=False)
            session.say("end of the lesson")


def _show(session: Session, play: LessonPlay, at: int) -> None:
    play.at, play.spent_s, play.answered, play.go_on = at, 0.0, None, False
    scene, lesson = play.scene, play.lesson
    start = Setting(lesson.scenario, lesson.size)
    first = changed(start, scene.first, scene.stage)
    second = None if scene.second is None else changed(start, scene.second, scene.stage)
    _set_packs(session, first, second, restart=scene.restart)
    session.stage = scene.stage
    session.follow = scene.follow
    session.clock = replace(session.clock, running=scene.running, speed=scene.speed, owed_s=0.0)
    # before looking: the words take room from the plans
    play.caption = filled(scene.caption, [pack.feed for pack in session.packs], scene.stage)
    _look(session, scene)


def _set_packs(session: Session, first: Setting, second: Setting | None, *, restart: bool) -> None:
    session.active = 0
    if second is None:
        session.set_beside(None)
    feed = session.packs[0].feed
    if restart or feed.setting != first:
        if restart:
            feed.retune(first, restart=True)
            session.packs[0].picked = None
        else:
            session.restore(first)
    if second is not None:
        if len(session.packs) == 1 or restart:
            session.set_beside(second)
        elif session.packs[1].feed.setting != second:
            session.packs[1].feed.retune(second, restart=False)


def _look(session: Session, scene: LessonScene) -> None:
    if scene.look == "as before":
        return
    picture = session.pack.feed.picture
    if scene.look == "line":
        look_at_line(session)
        return
    look_at_stage(session)
    scale = scene.px_per_mm * session.layout.canvas.w / 976.0 or session.camera.px_per_mm
    middle = session.camera.u_mm
    camera = session.camera.zoomed(scale / session.camera.px_per_mm)
    left, right = picture.faces_at(middle)
    if scene.look == "edge":
        half = session.views[0].view.h / 2.0 / camera.px_per_mm
        camera = camera.centred(middle, left + 0.6 * half)
    elif scene.look == "worst can":
        camera = _at_worst(session, camera.centred(middle, (left + right) / 2.0))
    elif scene.look == "middle":
        camera = camera.centred(middle, (left + right) / 2.0)
    session.camera = camera


def _at_worst(session: Session, camera: Camera) -> Camera:
    frame = session.pack.feed.frame
    at = index_of(frame, session.shown_can(session.pack))
    if at is None:
        return camera
    return camera.centred(float(frame.x_mm[at]), float(frame.y_mm[at]))
