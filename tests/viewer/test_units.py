"""Every number with a unit is shown in the units asked for: the same words, other numbers."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from packsim.report.words.display import Display
from viewer.lessons.lesson import load_lesson
from viewer.screen.drawing import NO_BREAK
from viewer.session.actions import act, tick
from viewer.session.lesson_scenes import begin_lesson, show_scene
from viewer.session.open import open_session, read_options
from viewer.session.tip_actions import run_to_tip
from viewer.session.tips import at_tip
from viewer.views.whole_window import whole_window
from viewer.window.app import main

LESSONS = sorted((Path(__file__).resolve().parents[2] / "scenarios" / "lessons").glob("*.toml"))
METRIC_ONLY = re.compile(r"\d[\d.,]*\s(mm|m/min|N|L/min|bar|m)\b")
LENGTH = re.compile(r"(\d[\d.]*) (mm|in)\b")


def texts(session) -> list[str]:
    return [text.text for text in whole_window(session).texts]


def plain(session, _loosen):
    session.step(40)


def tip_shown(session, loosen):
    loosen(session)
    run_to_tip(session)
    at_tip(session, session.tip, 0.0)


def tips_listed(session, loosen):
    tip_shown(session, loosen)
    act(session, "close")
    act(session, "tips")


def two_packs(session, _loosen):
    act(session, "beside")
    own, session.display = session.display, Display()
    act(session, "turn", 10)
    session.display = own
    session.step(10)


SCENES = (plain, tip_shown, tips_listed, two_packs)


@pytest.mark.parametrize("scene", SCENES)
def test_lengths_speeds_and_forces_are_in_the_units_asked_for(make_session, loosen, scene):
    metric, inch = make_session((1920, 1080)), make_session((1920, 1080), units="inch")
    for session in (metric, inch):
        scene(session, loosen)
    said, in_inches = texts(metric), texts(inch)
    assert any(METRIC_ONLY.search(text) for text in said)
    assert not [text for text in in_inches if METRIC_ONLY.search(text)]
    assert len(said) == len(in_inches)
    compared = 0
    for one, other in zip(said, in_inches, strict=True):
        if "/" in other:  # fractions of the rule
            continue
        for (mm, _), (inches, unit) in zip(LENGTH.findall(one), LENGTH.findall(other), strict=True):
            assert unit == "in"
            assert float(inches) * 25.4 == pytest.approx(float(mm), abs=0.07)
            compared += 1
    assert compared > 5


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_what_a_lesson_says_is_in_the_units_asked_for(make_session, path):
    lesson = load_lesson(path)
    said = {}
    for units in ("metric", "inch"):
        session = make_session(units=units)
        begin_lesson(session, lesson, alone=False)
        play, texts = session.lesson, []
        for at in range(len(lesson.scenes)):
            show_scene(session, play, at)
            play.answered, play.begun, play.ran_s, play.reached = 0, True, 1e6, True
            play.spent_s = 1e6
            texts += [play.goal, play.takeaway, play.caption, play.ask, *play.choices]
            tick(session, session.now_s + 0.1)
            texts += play.told
        said[units] = [text.replace(NO_BREAK, " ") for text in texts]
    assert len(said["metric"]) == len(said["inch"]) > 4 * len(lesson.scenes)
    assert any(METRIC_ONLY.search(text) for text in said["metric"])
    assert not [text for text in said["inch"] if METRIC_ONLY.search(text)]


def test_a_refusal_is_in_the_units_asked_for(make_session):
    session = make_session(units="inch")
    act(session, "dial", 1)
    for _ in range(60):
        act(session, "turn", 10)
    assert "31.496 in" in session.message
    assert not METRIC_ONLY.search(session.message)


def test_an_unknown_system_of_units_is_refused(root, capsys):
    scenario = str(root / "scenarios/swing_line.toml")
    assert read_options([scenario, "--units", "inch"]).units == "inch"
    with pytest.raises(SystemExit) as end:
        main([scenario, "--units", "ells"])
    assert end.value.code == 2
    assert "--units" in capsys.readouterr().err


def test_a_scenario_is_shown_in_its_own_units_unless_others_are_asked_for(root, tmp_path):
    text = (root / "scenarios/swing_line.toml").read_text()
    path = tmp_path / "line.toml"
    path.write_text(text if 'units = "inch"' in text else 'units = "inch"\n' + text)
    for asked, units in (([], "inch"), (["--units", "metric"], "metric")):
        assert open_session(read_options([str(path), *asked])).display.units == units
