"""A lesson lasts as long as its passage, so that every computer shows the same."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pygame
import pytest

from viewer.lessons.lesson import load_lesson
from viewer.session.actions import act, tick
from viewer.session.lesson_scenes import begin_lesson
from viewer.session.open import open_session, read_options
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.window.app import run

LESSONS = Path(__file__).resolve().parents[3] / "scenarios" / "lessons"


SHORT = """
schema = 2
title = "t"
goal = "g"
takeaway = "w"
scenario = "line.toml"
[[scenes]]
caption = "one"
seconds = 3
speed = 4
first = { slack = "33 mm", kick_energy = "0.5 mJ" }
[[scenes]]
caption = "two"
seconds = 2
speed = 8
first = { slack = "30 mm", kick_energy = "0.5 mJ" }
[scenes.question]
ask = "how many?"
choices = [{ say = "none", when = "tipped = 0" }, { say = "some", when = "tipped > 0" }]
because = "so"
[[scenes]]
caption = "three"
seconds = 1
speed = 8
second = { slack = "30 mm" }
restart = true
"""
"""Half a minute of passage, with a question and with a second pack."""


@pytest.fixture
def short(tmp_path) -> Path:
    line = (LESSONS / "lines" / "teaching_line.toml").read_text(encoding="utf-8")
    (tmp_path / "line.toml").write_text(line, encoding="utf-8")
    (tmp_path / "short.toml").write_text(SHORT, encoding="utf-8")
    return tmp_path / "short.toml"


def opened(path: Path) -> Session:
    lesson = load_lesson(path)
    session = Session(Live(lesson.start, lesson.seed), (960, 600), seed=lesson.seed)
    act(session, "close")
    act(session, "voids")  # shading is not looked at, and takes a third of the time
    begin_lesson(session, lesson)
    return session


def so_far(session: Session) -> tuple[object, ...]:
    """Passage time, tips by stage and place, and the cans' places, of every pack."""
    sources = [pack.source for pack in session.packs]
    return tuple(
        (source.frame.time_s, source.tips.tolist(), source.frame.x_mm.tobytes())
        for source in sources
    )


def tips_of(end: tuple[object, ...]) -> int:
    return sum(sum(map(sum, pack[1])) for pack in end)


def played(session: Session, gaps_s) -> list[tuple[object, ...]]:
    """Play a lesson on a clock of given gaps; return what stood at every scene's end.

    A scene in the reader's hands lasts as long as they like: there it ends.
    """
    play, ends, now = session.lesson, [], 0.0
    for gap in gaps_s:
        now += gap
        tick(session, now)
        if play.asking:
            act(session, "answer", 0)
        elif len(ends) == play.at and play.waiting:
            ends.append(so_far(session))
            act(session, "next scene")
        if play.ended or play.scene.row.hands:
            return ends
    raise AssertionError("the lesson did not end")


@pytest.mark.all
def test_a_slow_computer_shows_the_same_lesson(short):
    rng = np.random.default_rng(3)
    clocks = (
        itertools.repeat(1.0 / 30.0, 9_000),
        itertools.repeat(1.0 / 3.0, 2_000),
        iter(rng.exponential(0.2, 5_000)),
    )
    first, *others = (played(opened(short), gaps) for gaps in clocks)
    assert len(first) == 3
    assert tips_of(first[1]) > 0
    for other in others:
        assert other == first


def test_a_scene_lasts_its_seconds_at_its_speed_once_its_question_is_answered(short):
    session = opened(short)
    play, now, begun_s, lasted = session.lesson, 0.0, 0.0, {}
    while not play.ended and now < 500.0:
        now += 0.05
        tick(session, now)
        if play.asking:
            assert play.ran_s == 0.0, "the question comes before the run"
            act(session, "answer", 0)
        elif play.over and play.at not in lasted:
            ends_s = session.pack.source.frame.time_s
            lasted[play.at] = ends_s - (0.0 if play.scene.row.restart else begun_s)
            assert play.ran_s == pytest.approx(lasted[play.at])
            begun_s = ends_s
            act(session, "next scene")
    rows = [scene.row for scene in play.lesson.scenes]
    for at, ran_s in lasted.items():
        assert ran_s == pytest.approx(rows[at].seconds * rows[at].speed), at
    assert set(lasted) == {0, 1, 2}


@pytest.mark.all
def test_a_scene_may_end_with_its_tips(short):
    short.write_text(SHORT.replace("seconds = 3", "seconds = 60\nuntil_tips = 2"), encoding="utf-8")
    ends = [played(opened(short), itertools.repeat(gap, 20_000))[0] for gap in (0.02, 0.4)]
    assert ends[0] == ends[1]
    assert tips_of(ends[0]) >= 2
    assert ends[0][0][0] < 60.0 * 4.0


def test_there_is_a_way_back_and_it_shows_the_same(short):
    session = opened(short)
    play, now = session.lesson, 0.0
    ends = []
    for then in ("next scene", "next scene", "scene back", "next scene", "restart", ""):
        while not play.over:
            if play.asking:
                act(session, "answer", 0)
            now += 0.1
            tick(session, now)
        ends.append((play.at, so_far(session)))
        if then:
            at = play.at
            act(session, then)
            tick(session, now)
            assert play.at == at + {"next scene": 1, "scene back": -1, "restart": 0}[then]
            assert not play.over
    assert [at for at, _ in ends] == [0, 1, 2, 1, 2, 2]
    assert ends[3] == ends[1]
    assert ends[4] == ends[5] == ends[2]
    act(session, "first scene")
    tick(session, now)
    assert (play.at, session.pack.source.frame.time_s) == (0, 0.0)


def test_a_look_back_inside_a_scene_does_not_shorten_it(short):
    session, plain = opened(short), opened(short)
    for one in (session, plain):
        for k in range(20):
            tick(one, 0.1 * k)
    act(session, "seconds", -1)
    act(session, "seconds", -1)
    now = session.now_s
    for one in (session, plain):
        for k in range(1, 20):
            tick(one, now + 0.1 * k)
        assert one.lesson.waiting
    assert so_far(session) == so_far(plain)


@pytest.mark.all
def test_keys_in_a_window_that_is_slow_give_the_same_counts(short):
    """The loop, pictures and all: a key is held down and pressed where the lesson waits."""
    ends = []
    for gap in (0.05, 0.7):
        session = open_session(read_options(["--lesson", str(short), "--window", "480x300"]))
        act(session, "close")
        at, play = [0.0], session.lesson

        def clock(at=at, gap=gap) -> float:
            at[0] += gap
            return at[0]

        def each(_number: int, play=play) -> None:
            if play.waiting:
                key = pygame.K_2 if play.asking else pygame.K_RETURN
                for kind in (pygame.KEYDOWN, pygame.KEYDOWN, pygame.KEYUP):
                    event = pygame.event.Event(kind, key=key, mod=0, unicode="")
                    pygame.event.post(event)

        run(session, max_frames=160, clock=clock, each_frame=each)
        assert play.ended
        assert play.tries == {1: [True]}, "some tipped"
        ends.append(so_far(session))
    assert ends[0] == ends[1]
    assert ends[0][0][0] == pytest.approx(1.0 * 8.0)


def test_a_run_asked_for_at_once_stands_still_once_its_tips_are_there(short):
    """What the lesson says was counted, and what the panel counts, are of one moment."""
    head, _, _, asked, _ = re.split(r"(?=\[\[scenes\]\]|\[scenes.q)", SHORT)
    scene = '[[scenes]]\ncaption = "one"\nseconds = 60\nuntil_tips = 1\nfirst = { slack = "33 mm"'
    short.write_text(f'{head}{scene}, kick_energy = "2 mJ" }}\n{asked}', encoding="utf-8")
    session = opened(short)
    tick(session, 0.0)
    act(session, "answer", 0)
    act(session, "next scene")
    now = 0.0
    while not session.lesson.told and now < 20.0:
        tick(session, now := now + 0.1)
    told = so_far(session)
    assert tips_of(told) > 0
    for _ in range(5):
        tick(session, now := now + 0.1)
    assert so_far(session) == told
