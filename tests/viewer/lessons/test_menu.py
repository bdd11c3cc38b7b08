"""The list of lessons: opened by a key, or by naming a folder or nothing; by keys and by mouse."""

from __future__ import annotations

import shutil

import pytest

from packsim.errors import InputError
from viewer.lessons.lesson import load_lesson
from viewer.session.actions import act, tick
from viewer.session.open import open_session, read_options
from viewer.views.whole_window import whole_window
from viewer.window.app import main

FOLDER = "scenarios/lessons"
NAMES = ["centres_under_nozzles", "edge_goes_first", "hold_down_after_height"]


@pytest.mark.parametrize("asked", [["--lesson"], ["--lesson", FOLDER]])
def test_without_a_file_the_lessons_are_listed_after_the_cautions(root, monkeypatch, asked):
    monkeypatch.chdir(root)
    session = open_session(read_options(asked))
    assert session.overlay == "cautions"
    act(session, "close")
    assert session.overlay == "lessons"
    said = " ".join(text.text for text in whole_window(session).texts)
    for path in (root / FOLDER).glob("*.toml"):
        lesson = load_lesson(path) if path.stem in NAMES[:1] else None
        assert lesson is None or (lesson.title in said and lesson.goal in said)
    for action in ("pan down", "pan down", "pan up"):
        act(session, action)
    act(session, "next scene")
    assert (session.stem, session.overlay) == (NAMES[1], "")
    assert session.lesson.at == 0


def test_a_key_lists_them_and_another_lesson_begins_as_if_it_were_the_first(root, make_session):
    plain = open_session(read_options(["--lesson", str(root / FOLDER / f"{NAMES[2]}.toml")]))
    act(plain, "close")
    session = make_session()
    session.lesson_folder = root / FOLDER
    act(session, "beside")
    session.step(20)
    act(session, "lessons")
    (hit,) = (h for h in whole_window(session).hits if (h.action, h.argument) == ("lesson", 2))
    act(session, hit.action, hit.argument)
    for one in (session, plain):
        one.clock = one.clock.at_speed(1.0)
        for _ in range(10):
            tick(one, one.now_s + 0.1)
    assert session.lesson.lesson == plain.lesson.lesson
    frames = [one.pack.source.frame for one in (session, plain)]
    assert frames[0].time_s == frames[1].time_s > 0.0
    assert frames[0].x_mm.tobytes() == frames[1].x_mm.tobytes()
    act(session, "lessons")
    act(session, "close")
    assert session.overlay == ""
    assert session.stem == NAMES[2]


def test_what_cannot_be_listed_or_opened_is_said_and_leaves_all_as_it_is(
    root, tmp_path, make_session, capsys
):
    session = make_session()
    session.lesson_folder = tmp_path / "none"
    act(session, "lessons")
    assert session.overlay == ""
    assert "a folder of them such as scenarios/lessons" in session.message
    shutil.copytree(root / FOLDER, tmp_path / "some")
    bad = tmp_path / "some" / f"{NAMES[0]}.toml"
    bad.write_text(bad.read_text().replace("{best_shift_mm}", "{nuts}"), encoding="utf-8")
    session.lesson_folder = tmp_path / "some"
    act(session, "lessons")
    act(session, "answer", 0)
    assert session.lesson is None
    assert "{nuts}" in session.message
    with pytest.raises(InputError, match="beside --handout"):
        open_session(read_options(["--lesson", str(root / FOLDER), "--handout", "l.html"]))
    with pytest.raises(SystemExit):
        main(["--lesson", str(tmp_path), "--capture", "x.png"])
    assert "--lesson: got" in capsys.readouterr().err
