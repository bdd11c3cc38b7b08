"""Lessons load, play to their end, state packsim's numbers, and complain when they are bad."""

from __future__ import annotations

from pathlib import Path

import pytest

from packsim.answers import Answer, answer_stage
from packsim.errors import InputError
from viewer.lessons.captions import NAMES, filled, numbers_of
from viewer.lessons.lesson import load_lesson
from viewer.lessons.lesson_changes import changed
from viewer.screen.panel_writer import NO_BREAK
from viewer.session.adjust import Setting
from viewer.session.lesson_play import begin_lesson
from viewer.session.session import Session
from viewer.session.source import Live

LESSONS = sorted((Path(__file__).resolve().parents[2] / "scenarios" / "lessons").glob("*.toml"))


def opened(path: Path, *, alone: bool = False) -> Session:
    lesson = load_lesson(path)
    feed = Live(Setting(lesson.scenario, lesson.size), lesson.seed)
    session = Session(feed, (1280, 720), seed=lesson.seed)
    session.act("close")
    begin_lesson(session, lesson, alone=alone)
    return session


def test_there_are_the_four_lessons():
    names = {path.stem for path in LESSONS}
    assert {"why_slack_tips", "edge_goes_first", "size_needs_new_setting"} <= names
    assert "centres_under_nozzles" in names


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_it_loads_and_every_caption_can_be_filled(path):
    lesson = load_lesson(path)
    assert any(scene.question for scene in lesson.scenes)
    start = Setting(lesson.scenario, lesson.size)
    for scene in lesson.scenes:
        packs = [scene.first] if scene.second is None else [scene.first, scene.second]
        feeds = [Live(changed(start, changes, scene.stage), 1) for changes in packs]
        caption = filled(scene.caption, feeds, scene.stage)
        assert "{" not in caption
        assert "–" not in caption.replace("mm–", "").replace(".0–", "") or "window" in scene.caption


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_it_plays_to_its_end_by_itself(path):
    session = opened(path, alone=True)
    play, scenes = session.lesson, set()
    for k in range(2000):
        # time goes by without the pack: what is tested is the order of scenes
        play.spent_s += 0.5
        session.tick(0.02 * k)
        scenes.add(play.at)
        if play.ended:
            break
    assert play.ended
    assert scenes == set(range(len(play.lesson.scenes)))


def test_slack_tips_and_its_lack_does_not():
    """What the lesson says is what its passage shows."""
    session = opened(LESSONS[[p.stem for p in LESSONS].index("why_slack_tips")])
    lesson = session.lesson.lesson
    scene = lesson.scenes[-1]
    start = Setting(lesson.scenario, lesson.size)
    tips = []
    for changes in (scene.first, scene.second):
        feed = Live(changed(start, changes, scene.stage), lesson.seed)
        feed.step(round(0.6 * scene.seconds * scene.speed / feed.dt_s))
        tips.append(int(feed.tips.sum()))
    assert tips[0] == 0
    assert tips[1] > 0


def test_a_question_waits_takes_an_answer_and_goes_on():
    session = opened(LESSONS[[p.stem for p in LESSONS].index("why_slack_tips")])
    play = session.lesson
    last = len(play.lesson.scenes) - 1
    while play.at < last:
        session.act("next scene")
        session.tick(session._now_s + 0.01)
    play.spent_s = play.scene.seconds
    session.tick(session._now_s + 0.01)
    assert play.asking
    assert not session.clock.running
    session.act("next scene")
    session.tick(session._now_s + 0.01)
    assert play.asking, "a question is not skipped at its end"
    session.act("answer", 7)
    assert play.answered is None
    session.act("answer", 1)
    assert play.answered == 1
    session.act("next scene")
    session.tick(session._now_s + 0.01)
    assert play.ended


def test_numbers_are_packsims(setting):
    feed = Live(setting, 1)
    found = answer_stage(setting.scenario, setting.scenario.stages[0].name, setting.size)
    assert isinstance(found, Answer)
    numbers = numbers_of(feed, 0)
    assert set(NAMES) == set(numbers)
    assert numbers["slack"] == f"{found.pack.slack_mm:.1f} mm"
    assert numbers["safe"] == f"{found.tipping.safe.slack_mm:.1f} mm"
    assert numbers["verdict"] == found.tipping.verdict
    slack = numbers["slack"].replace(" ", NO_BREAK)
    assert filled("{slack} of {lanes}", [feed], 0) == f"{slack} of 10"
    with pytest.raises(InputError, match="nonsense"):
        filled("{nonsense}", [feed], 0)


def test_slack_is_set_to_what_is_asked(setting):
    after = changed(setting, {"slack": "12.5 mm"}, 0)
    found = answer_stage(after.scenario, after.scenario.stages[0].name, after.size)
    assert found.pack.slack_mm == pytest.approx(12.5)
    one = changed(setting, {"clear_width": "600 mm", "only_stage": True}, 1)
    assert one.scenario.stages[0] == setting.scenario.stages[0]
    assert one.scenario.stages[1].guides.narrowest_mm == pytest.approx(600.0)


GOOD = """
schema = 1
title = "t"
scenario = "line.toml"
[[scenes]]
caption = "words"
"""


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("", ""),
        ("seconds = -1", "scenes[0].seconds"),
        ("colour = 'red'", "scenes[0].colour"),
        ("look = 'the moon'", "scenes[0].look"),
        ("stage = 'none'", "scenes[0].stage"),
        ("first = { clear_width = '3 kg' }", "scenes[0].first.clear_width"),
        ("first = { size = 'none' }", "scenes[0].first.size"),
        ("first = { layout = 'sideways' }", "scenes[0].first.layout"),
        ("question = { ask = 'a', choices = ['x'], right = 1, because = 'b' }", "choices"),
        ("question = { ask = 'a', choices = ['x', 'y'], right = 3, because = 'b' }", "right"),
        ("wait = 'yes'", "scenes[0].wait"),
        ("= 3", "TOML"),
    ],
)
def test_a_bad_lesson_says_where(root, tmp_path, more, said):
    line = (root / "scenarios/lessons/lines/teaching_line.toml").read_text(encoding="utf-8")
    (tmp_path / "line.toml").write_text(line, encoding="utf-8")
    path = tmp_path / "lesson.toml"
    path.write_text(GOOD + more, encoding="utf-8")
    if not said:
        assert load_lesson(path).scenes[0].caption == "words"
        return
    with pytest.raises(InputError) as problem:
        load_lesson(path)
    assert said in str(problem.value)
    assert "lesson.toml" in str(problem.value)
