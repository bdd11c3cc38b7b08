"""A hand that drags something in a capture."""

from __future__ import annotations

import pygame
import pytest

from packsim.errors import InputError
from viewer.session.actions import act
from viewer.session.looking import look_at_line
from viewer.window.app import main
from viewer.window.capture import frames_of
from viewer.window.hand import read_hand


def guides(session):
    face = session.pack.source.loaded.scenario.stages[session.stage].guides.narrowest
    return face.left_mm, face.right_mm


def drag(make_session, words, seconds=0.6):
    session = make_session((960, 600))
    look_at_line(session)
    before = guides(session)
    pictures = [
        pygame.image.tobytes(s, "RGB") for s in frames_of(session, seconds, 20.0, read_hand(words))
    ]
    return session, before, pictures


@pytest.mark.parametrize(
    ("words", "left_mm", "right_mm"),
    [
        ("left guide -6 mm from 0.1 to 0.3", -6.0, 0.0),
        ("right guide 1/4 in from 0.1 to 0.3", 0.0, 6.35),
        ("pack 3 mm from 0 to 0.2", 3.0, 3.0),
    ],
)
def test_what_is_dragged_moves_so_far_and_is_one_undo(make_session, words, left_mm, right_mm):
    session, before, _ = drag(make_session, words)
    step = session.pack.source.loaded.scenario.stages[0].guides.setting_step_mm or 0.5
    moved = [now - was for now, was in zip(guides(session), before, strict=True)]
    assert moved == pytest.approx([left_mm, right_mm], abs=0.51 * step)
    assert session.drag is None
    act(session, "undo")
    assert guides(session) == before


def test_wires_go_up_and_headers_to_the_right(make_session):
    session, _, _ = drag(make_session, "wire 1 4 mm from 0.1 to 0.3")
    first = session.pack.first.scenario.stages[0]
    now = session.pack.source.loaded.scenario.stages[0]
    risen = now.guides.wires.heights_mm[0] - first.guides.wires.heights_mm[0]
    assert risen == pytest.approx(4.0, abs=0.26)
    session, _, _ = drag(make_session, "header 1 -5 mm from 0.1 to 0.3")
    now = session.pack.source.loaded.scenario.stages[0]
    assert now.headers[0].first_mm - first.headers[0].first_mm == pytest.approx(-5.0, abs=0.26)


def test_the_same_drag_gives_the_same_pictures_with_a_hand_in_them(make_session):
    words = "left guide -6 mm from 0.1 to 0.3"
    _, _, pictures = drag(make_session, words, 0.3)
    assert pictures == drag(make_session, words, 0.3)[2]
    session = make_session((960, 600))
    look_at_line(session)
    bare = [pygame.image.tobytes(s, "RGB") for s in frames_of(session, 0.05, 20.0)]
    assert pictures[0] != bare[0]


@pytest.mark.parametrize(
    "words",
    ["", "left guide", "left guide 3 from 0 to 1", "wire 3 mm from 0 to 1", "lid 3 mm from 0 to 1",
     "left guide 3 mm from 2 to 1", "left guide 3 g from 0 to 1", "wire 0 3 mm from 0 to 1"],
)  # fmt: skip
def test_what_cannot_be_dragged_is_refused_with_an_example(words):
    with pytest.raises(InputError, match="--drag"):
        read_hand(words)


def test_what_is_not_in_the_picture_cannot_be_taken(make_session):
    with pytest.raises(InputError, match=r"wire 9 3 mm.*picture"):
        drag(make_session, "wire 9 3 mm from 0 to 1")


def test_a_drag_without_a_capture_is_refused(root, capsys):
    with pytest.raises(SystemExit) as end:
        main([str(root / "scenarios/first_look.toml"), "--drag", "pack 3 mm from 0 to 1"])
    assert end.value.code == 2
    assert "--drag" in capsys.readouterr().err
