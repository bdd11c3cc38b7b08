"""Lessons load, play to their end, state packsim's numbers, and complain when they are bad."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from packsim.answers import Answer, answer_stage
from packsim.errors import InputError
from packsim.report.words.display import Display
from packsim.scenario.lesson_tables import ChangesRow
from viewer.lessons.lesson import changed, load_lesson
from viewer.lessons.numbers import NAMES, Ran, both, check_text, filled, names_of, numbers_of
from viewer.line import answers_of
from viewer.screen.drawing import NO_BREAK
from viewer.session.actions import act, tick
from viewer.session.lesson_scenes import begin_lesson, show_scene
from viewer.session.session import Session
from viewer.session.source import Live

LESSONS = sorted((Path(__file__).resolve().parents[3] / "scenarios" / "lessons").glob("*.toml"))


def opened(path: Path, *, alone: bool = False) -> Session:
    lesson = load_lesson(path)
    source = Live(lesson.start, lesson.seed)
    session = Session(source, (1280, 720), seed=lesson.seed)
    act(session, "close")
    act(session, "voids")  # shading is not looked at, and takes a third of the time
    begin_lesson(session, lesson, alone=alone)
    return session


def test_there_are_the_six_lessons():
    assert {path.stem for path in LESSONS} == {
        "why_slack_tips",
        "edge_goes_first",
        "size_needs_new_setting",
        "centres_under_nozzles",
        "hold_down_after_height",
        "what_a_trial_shows",
    }


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_it_loads_and_every_caption_can_be_filled(path):
    lesson = load_lesson(path)
    assert any(scene.row.question for scene in lesson.scenes)
    for scene in lesson.scenes:
        numbers = both(
            [
                numbers_of(p, answers_of(p)[scene.stage], Ran(), scene.stage, Display("metric"))
                for p in scene.packs
            ]
        )
        caption = filled(scene.row.caption, numbers, Display("metric"))
        assert "{" not in caption
        assert "–" not in caption or "window" in scene.row.caption


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_it_plays_to_its_end_by_itself(path):
    session = opened(path, alone=True)
    play, scenes = session.lesson, set()
    for k in range(2000):
        # as if it had run: what is tested is the order of scenes
        play.ran_s = 1e6
        tick(session, 0.5 * k)
        scenes.add(play.at)
        if play.ended:
            break
    assert play.ended
    assert scenes == set(range(len(play.lesson.scenes)))


def test_a_question_comes_before_the_run_is_marked_after_it_and_may_be_tried_again():
    session = opened(LESSONS[[p.stem for p in LESSONS].index("why_slack_tips")])
    play = session.lesson
    first, asked, *others = play.lesson.scenes
    asked = replace(asked, row=asked.row.model_copy(update={"until_tips": 1}))  # soon over
    play.lesson = replace(play.lesson, scenes=(first, asked, *others))
    act(session, "next scene")
    act(session, "next scene")
    for k in range(1, 20):
        tick(session, 0.1 * k)
        if play.at == 1:
            break
        act(session, "next scene")
    assert play.asking
    assert not session.clock.running
    act(session, "next scene")
    tick(session, session.now_s + 0.1)
    assert play.asking, "Enter is no answer"
    assert session.pack.source.frame.time_s == 0.0
    act(session, "answer", 7)
    assert play.answered is None
    for choice in (0, 1):
        act(session, "answer", choice)
        tick(session, session.now_s + 0.1)
        act(session, "next scene")
        for _ in range(200):
            tick(session, session.now_s + 0.1)
            if play.over:
                break
        tick(session, session.now_s + 0.01)
        assert play.right == 1
        lower = int(session.packs[1].source.tips.sum())
        assert play.told[0] == f"Tipped in the wash: 0 above, {lower} below, with the same kicks."
        assert play.told[1].startswith(("No. The answer is 2: Below.", "Right.")[choice])
        if choice == 0:
            act(session, "restart")
            assert play.asking
    assert play.tries == {1: [False, True]}
    assert play.score == (0, 2)


def test_with_free_hands_a_scene_lasts_until_it_is_done():
    session = opened(LESSONS[[p.stem for p in LESSONS].index("why_slack_tips")])
    play = session.lesson
    show_scene(session, play, 3)
    for k in range(1, 30):
        tick(session, float(k))
    assert not play.over
    act(session, "dial", 0)
    act(session, "turn", -40)
    tick(session, session.now_s + 0.1)
    assert play.over
    assert play.told[0].startswith("Done: ")


def test_a_film_does_not_say_that_what_nobody_did_is_done():
    session = opened(LESSONS[[p.stem for p in LESSONS].index("why_slack_tips")], alone=True)
    play = session.lesson
    show_scene(session, play, 3)
    for k in range(1, 9):
        play.ran_s = 1e6
        tick(session, float(k))
        assert not any(text.startswith("Done") for text in play.texts)
    assert play.ended


def test_numbers_are_packsims(loaded):
    found = answer_stage(loaded.scenario, loaded.scenario.stages[0].name, loaded.size)
    assert isinstance(found, Answer)
    numbers = numbers_of(loaded, found, Ran((2, 1, 0), 90), 0, Display("metric"))
    assert numbers["tipped"].text == "3"
    assert set(NAMES) == set(numbers)
    assert numbers["slack_mm"].text == f"{found.pack.slack_mm:.1f} mm"
    assert numbers["verdict"].value == found.tipping.verdict
    slack = numbers["slack_mm"].text.replace(" ", NO_BREAK)
    assert filled("{slack_mm} of {lanes}", numbers, Display("metric")) == f"{slack} of 10"
    with pytest.raises(InputError, match="nonsense"):
        check_text("caption", "{nonsense}", names_of(1, run=True))
    with pytest.raises(InputError, match="slack_mm_2"):
        check_text("caption", "{slack_mm} and {slack_mm_2}", names_of(1, run=True))
    with pytest.raises(InputError, match="said in result"):
        check_text("caption", "{tipped}", names_of(1, run=False))


def test_a_length_in_a_text_is_shown_in_the_units_asked_for():
    for units, said in (("metric", "5 mm, 50.8 mm"), ("inch", "0.197 in, 2 in")):
        assert filled("{5 mm}, {2 in}", {}, Display(units)).replace(NO_BREAK, " ") == said
    check_text("goal", "{5 mm}", ())


def test_slack_is_set_to_what_is_asked(loaded):
    after = changed(loaded, ChangesRow(slack="12.5 mm"), 0)
    found = answer_stage(after.scenario, after.scenario.stages[0].name, after.size)
    assert found.pack.slack_mm == pytest.approx(12.5)
    one = changed(loaded, ChangesRow(clear_width="600 mm", only_stage=True), 1)
    assert one.scenario.stages[0] == loaded.scenario.stages[0]
    assert one.scenario.stages[1].guides.narrowest_mm == pytest.approx(600.0)


ONE = "{ say = 'x', when = 'tipped > 1' }"

GOOD = """
schema = 2
title = "t"
goal = "g"
takeaway = "w"
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
        ("first = { rows = 'sideways' }", "scenes[0].first.rows"),
        (f"question = {{ ask = 'a', choices = [{ONE}], because = 'b' }}", "choices"),
        (f"question = {{ ask = 'a', choices = [{ONE}, {ONE}], because = 'b' }}", "exactly one"),
        (
            "question = { ask = 'a', choices = [{ say = 'x', when = 'nuts > 1' }, "
            f"{ONE}], because = 'b' }}",
            "scenes[0].question.choices[0].when: got nuts",
        ),
        ("hands = true\nuntil = 'slack_mm > 1'", "scenes[0].until"),
        ("until = 'slack_mm > 1'", "scenes[0].until"),
        ("result = '{tipped}'\nrunning = false", "scenes[0].result"),
        ("wait = 'yes'", "scenes[0].wait"),
        ("follow = 1", "scenes[0].follow"),
        ("[[scenes]]\ncaption = 'the {slcak} is set'", "scenes[1].caption: got {slcak}"),
        ("[[scenes]]\ncaption = '{slack_mm_2}'", "scenes[1].caption"),
        (
            "[[scenes]]\ncaption = 'open it by 5 mm'",
            "scenes[1].caption: got open it by 5 mm; needs",
        ),
        ("[[scenes]]\ncaption = '{5 kg}'", "scenes[1].caption: got {5 kg}"),
        ("[[scenes]]\ncaption = '{}'", "scenes[1].caption"),
        ("first = { wire_heights = ['65 mm', '30 mm'] }", "scenes[0].first.heights_mm"),
        ("second = { pack_fill = 2 }", "scenes[0].second.pack_fill"),
        ("stage = 'none'\nfirst = { size = 'none' }", "scenes[0].first.size: got"),
        ("[[scenes]]\ncaption = 3\nlook = 3", "scenes[1].look: got 3"),
        ("[[scenes]]\ncaption = 'the {slack mm}'", "scenes[1].caption: got {slack mm}"),
        ("[[scenes]]\ncaption = 'the {slack_mm'", "scenes[1].caption: got {;"),
        ("[[scenes]]\ncaption = 'a } b'", "scenes[1].caption: got };"),
        ("first = { clear_width = '9 m' }", "scenes[0].first.guides: got"),
        ("[[scenes]]\ncaption = 'x'\nsecond = { slack = '900 mm' }", "scenes[1].second.guides"),
        ("first = { shift = '900 mm' }", "scenes[0].first.guides"),
        ("running = false\nuntil_tips = 2", "scenes[0].until_tips: got 2; needs a scene in which"),
        ("= 3", "TOML"),
    ],
)
def test_a_bad_lesson_says_where(root, tmp_path, more, said):
    line = (root / "scenarios/lessons/lines/teaching_line.toml").read_text(encoding="utf-8")
    (tmp_path / "line.toml").write_text(line, encoding="utf-8")
    path = tmp_path / "lesson.toml"
    path.write_text(GOOD + more, encoding="utf-8")
    if not said:
        assert load_lesson(path).scenes[0].row.caption == "words"
        return
    with pytest.raises(InputError) as problem:
        load_lesson(path)
    assert said in str(problem.value)
    assert "lesson.toml" in str(problem.value)
