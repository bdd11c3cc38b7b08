"""Presentation mode: text for the last row, few parts, what happens in a sentence."""

from __future__ import annotations

import pytest

from packsim.report.words.display import Display
from packsim.scenario import load_scenario
from viewer.lessons.lesson import load_lesson
from viewer.line import LoadedLine
from viewer.screen.drawing import NO_BREAK
from viewer.screen.layout import LEAST_TEXT, TEXT_PX, Box, lay_out_presentation
from viewer.session.actions import act
from viewer.session.lesson_scenes import begin_lesson, follow_lesson
from viewer.session.tips import at_tip
from viewer.views.presentation import subtitle, the_number
from viewer.views.tip import tip_words
from viewer.views.whole_window import whole_window
from viewer.views.why import why_text
from viewer.window.paint import FINE, Painter

SIZES = [(1280, 720), (1920, 1080), (3840, 2160), (800, 600)]


@pytest.fixture
def swing(root) -> LoadedLine:
    return LoadedLine(load_scenario(root / "scenarios/swing_line.toml"), "sleek body")


def letter_px(painter: Painter, size: str) -> float:
    """From the top of a letter to the foot of one that reaches down, as painted [px]."""
    font = painter.font(size)
    return (font.get_ascent() - font.get_descent()) / FINE


def scenes(session, root):
    """Everything a presentation can show, one after the other."""
    yield "running"
    act(session, "beside")
    act(session, "turn", 60)
    yield "two packs"
    session.step(400)
    act(session, "tip", -1)
    for share in (0.0, 0.6, 1.0):
        at_tip(session, session.tip, session.tip.at_share(share))
        yield "a tip"
    act(session, "close")
    act(session, "beside")
    begin_lesson(session, load_lesson(root / "scenarios/lessons/why_slack_tips.toml"))
    play = session.lesson
    for _ in play.lesson.scenes:
        yield f"scene {play.at}"
        if play.asking:
            act(session, "answer", 0)
            yield "answered"
        play.reached = play.go_on = True
        follow_lesson(session, play, 0.0)


@pytest.mark.parametrize(
    "size",
    [pytest.param(size, marks=() if size == (800, 600) else pytest.mark.all) for size in SIZES],
    ids=lambda size: f"{size[0]}x{size[1]}",
)
def test_no_text_is_small_and_none_is_cut_or_outside(make_session, root, size):
    session = make_session(size, presenting=True)
    painter, window = Painter(session.layout.scale), session.layout.window
    for scene in scenes(session, root):
        for text in whole_window(session).texts:
            assert letter_px(painter, text.size) >= LEAST_TEXT * window.h, text
            box, wide = text.box, painter.font(text.size).size(text.text)[0] / FINE
            assert wide <= box.w + 1, (scene, text)
            assert box.h >= 0.95 * letter_px(painter, text.size), (scene, text)
            assert window.x <= box.x <= box.right <= window.right, (scene, text)
            assert window.y <= box.y <= box.bottom <= window.bottom, (scene, text)


@pytest.mark.parametrize("size", SIZES)
def test_its_parts_tile_the_window(size):
    layout = lay_out_presentation(*size)
    parts = [layout.why, layout.canvas, layout.counts, layout.roles, layout.told, layout.footer]
    assert sum(part.w * part.h for part in parts) == size[0] * size[1]
    assert layout.scale * TEXT_PX == pytest.approx(LEAST_TEXT * size[1])
    assert layout.cards == layout.adjust == Box(0, 0, 0, 0)


def test_the_number_is_the_slack_of_the_stage_the_line_tells_of(make_session, swing):
    session = make_session(at=swing, presenting=True)
    answers = session.pack.source.answers
    for session.stage in range(len(answers)):
        texts = whole_window(session).texts
        said = [text.text for text in texts]
        name = swing.scenario.stages[session.stage].name
        line = next(t.text for t in texts if t.box.y < session.layout.why.bottom)
        assert line.startswith(f"{name}: ")
        value, against, verdict = the_number(answers[session.stage], session.display)
        for part in (name, value, against, verdict):
            assert part in said
    for found in answers:
        value, against, verdict = the_number(found, Display())
        crushed = found.hold_down is not None and found.hold_down.state == "crushes"
        mm = -found.hold_down.clearance_mm if crushed else found.tipping.loosest_slack_mm
        assert value == f"{mm:.1f} mm"
        assert crushed or verdict == found.tipping.verdict
        assert crushed or f"{found.tipping.allowed_slack_mm:.1f} mm" in against


def test_the_line_why_is_whole(make_session, swing):
    session = make_session(at=swing, presenting=True)
    for stage, found in enumerate(session.pack.source.answers):
        session.stage = stage
        texts = whole_window(session).texts
        why = [text.text for text in texts if text.box.y < session.layout.why.bottom]
        name = swing.scenario.stages[stage].name
        assert " ".join(why) == f"{name}: {why_text(found, session.display)}"


def test_what_was_done_last_is_told_until_the_next(make_session):
    session = make_session(presenting=True)
    act(session, "turn", 4)
    assert subtitle(session) == "clear width 589.0 mm"
    act(session, "stage", 1)
    assert subtitle(session) == "stage 2: rinse"
    act(session, "pause")
    assert subtitle(session) == "paused"
    act(session, "reset")
    session.message = ""
    assert subtitle(session) == "as in the file"
    act(session, "zoom in")
    assert subtitle(session) == "nearer"


def test_a_tip_and_a_lesson_tell_themselves(make_session, root, loosen):
    session = make_session(presenting=True)
    loosen(session)
    session.step(80)
    act(session, "tip", -1)
    show = session.tip
    words = tip_words(show.fall.event, len(show.fall.cans) - 1, session.display)
    assert subtitle(session).startswith(words)
    act(session, "close")
    begin_lesson(session, load_lesson(root / "scenarios/lessons/why_slack_tips.toml"))
    play = session.lesson
    while not play.asking:
        assert all(text in subtitle(session) for text in play.texts)
        play.reached = play.go_on = True
        follow_lesson(session, play, 0.0)
    said = " ".join(text.text for text in whole_window(session).texts)
    for text in (*play.texts, *play.choices):
        assert text.replace(NO_BREAK, " ") in said


def test_the_key_goes_there_and_back(make_session):
    session = make_session()
    before, camera = session.layout, session.camera
    act(session, "present")
    assert session.layout == lay_out_presentation(1280, 720)
    act(session, "present")
    assert session.layout == before
    assert session.camera.px_per_mm == pytest.approx(camera.px_per_mm)
