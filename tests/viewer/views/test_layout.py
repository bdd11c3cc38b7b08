"""No text overlaps another or leaves the window, in every state and at every size."""

from __future__ import annotations

import pytest

from packsim.scenario import load_scenario
from viewer.lessons.lesson import load_lesson
from viewer.lessons.menu import read_menu
from viewer.line import LoadedLine
from viewer.screen.drawing import Drawing, join
from viewer.screen.layout import Box, lay_out, usual_scale
from viewer.session.actions import act, tick
from viewer.session.lesson_scenes import begin_lesson, follow_lesson
from viewer.session.tips import at_tip
from viewer.views.whole_window import overlays, panels, plans, whole_window
from viewer.window.paint import FINE, Painter

SIZES = [(1280, 720), (1920, 1080), (960, 600), (800, 600), (2560, 1440)]

OVERLAYS = ("cautions", "help", "tips", "lessons")


def overlap(a: Box, b: Box) -> bool:
    return a.x < b.right and b.x < a.right and a.y < b.bottom and b.y < a.bottom


def check(drawing: Drawing, window: Box) -> None:
    texts = drawing.texts
    assert texts
    for text in texts:
        box = text.box
        assert box.w > 0, text
        assert window.x <= box.x, text
        assert window.y <= box.y, text
        assert box.right <= window.right, text
        assert box.bottom <= window.bottom, text
    for i, a in enumerate(texts):
        for b in texts[i + 1 :]:
            assert not overlap(a.box, b.box), (a, b)


def states(session, root, loosen):
    """Everything the window can show, one after the other."""
    yield "running"
    loosen(session)
    session.step(20)
    tick(session, 0.0)
    yield "message"
    act(session, "zoom stage")
    act(session, "zoom in")
    session.say("")
    yield "zoomed"
    session.step(60)
    act(session, "tip", -1)
    for share in (0.0, 0.6, 1.0):
        at_tip(session, session.tip, session.tip.at_share(share))
        session.say("")
        yield "a tip"
    act(session, "close")
    act(session, "beside")
    session.say("")
    yield "two packs"
    act(session, "beside")
    begin_lesson(session, load_lesson(root / "scenarios/lessons/why_slack_tips.toml"))
    session.say("")
    play = session.lesson
    for _ in play.lesson.scenes:
        yield f"scene {play.at}"
        play.cut = True
        yield f"end of scene {play.at}"
        if play.asking:
            act(session, "answer", 0)
            yield "answered"
        play.go_on = True
        follow_lesson(session, play, 0.0)
        session.say("")
    assert play.ended


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_texts_are_apart_and_inside(make_session, root, loosen, size):
    session = make_session(size)
    for _ in states(session, root, loosen):
        below = plans(session), panels(session)
        if not session.message:
            check(whole_window(session), session.layout.window)
        for part in below:
            check(part, session.layout.window)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("overlay", OVERLAYS[:3])
def test_overlays_are_apart_and_inside(make_session, size, overlay):
    session = make_session(size, start=True)
    session.overlay = overlay
    check(overlays(session), session.layout.window)


@pytest.mark.parametrize("size", [*SIZES, (1024, 600)], ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("presenting", [False, True], ids=["usual", "presenting"])
def test_no_overlay_cuts_its_texts_or_letters(make_session, root, loosen, size, presenting):
    session = make_session(size, presenting=presenting, units="inch")
    session.menu = read_menu(root / "scenarios/lessons")
    loosen(session)
    session.step(120)
    painter = Painter(session.layout.scale)
    for session.overlay in OVERLAYS:
        drawing = overlays(session)
        assert session.overlay != "tips" or any(hit.action == "tip" for hit in drawing.hits)
        for text in drawing.texts:
            font = painter.font(text.size, text.scale)
            assert font.size(text.text)[0] <= FINE * text.box.w, text
            assert 0.8 * font.size("Ågx")[1] <= FINE * text.box.h, text


def text_size(painter, text, size):
    """Width and height a text takes when painted [px]."""
    wide, tall = painter.font(size).size(text)
    return -(-wide // FINE), -(-tall // FINE)


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_letters_are_no_taller_than_their_boxes(make_session, size):
    session = make_session(size)
    painter = Painter(session.layout.scale)
    for text in whole_window(session).texts:
        tall = text_size(painter, "Ågx", text.size)[1]
        # line gaps above and below a letter may stand over, the letters may not
        assert text.box.h >= 0.8 * tall, text


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (800, 600)])
def test_the_cautions_and_the_numbers_are_not_cut(make_session, size):
    session = make_session(size)
    painter = Painter(session.layout.scale)
    for text in panels(session).texts:
        wide = text_size(painter, text.text, text.size)[0]
        assert wide <= text.box.w, text


@pytest.mark.parametrize("can", ["211 body", "sleek body"])
def test_nothing_of_a_long_line_is_cut_in_a_small_window(make_session, root, can):
    line = LoadedLine(load_scenario(root / "scenarios/swing_line.toml"), can)
    session = make_session((800, 600), at=line)
    painter = Painter(session.layout.scale)
    for packs in (1, 2):
        for shown in ("answers", "can", "graph"):
            assert session.dock == shown
            for stage in range(len(session.pack.source.line_map.stages)):
                session.stage = stage
                for text in join(plans(session), panels(session)).texts:
                    wide = text_size(painter, text.text, text.size)[0]
                    assert wide <= text.box.w, (packs, shown, text)
            act(session, "graph")
        if packs == 1:
            act(session, "beside")
            session.say("")


def test_parts_tile_the_window():
    for wide, tall in (*SIZES, (320, 200), (5000, 900)):
        layout = lay_out(wide, tall)
        parts = [layout.header, layout.footer, layout.canvas, layout.cards, layout.elevation]
        parts += [layout.why]
        parts += [layout.answers, layout.counts, layout.roles, layout.adjust]
        parts += [] if layout.narrow else [layout.facts]
        assert sum(part.w * part.h for part in parts) == wide * tall
        assert all(part.w > 0 and part.h > 0 for part in parts)


def test_scale_follows_the_screen_and_can_be_chosen():
    assert usual_scale(1280, 720) == 1.0
    assert usual_scale(3840, 2160) > usual_scale(1920, 1080) > 1.0
    assert lay_out(1920, 1080, 1.75).header.h > lay_out(1920, 1080).header.h
    assert lay_out(960, 600, 4.0).scale == 1.0
