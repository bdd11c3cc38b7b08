"""The handout of a lesson asks on one page and answers on the next, as the lesson itself does."""

from __future__ import annotations

import re
from html import unescape

import pytest

from packsim.report.words.numbers import CAUTION_LINE, CAUTIONS
from viewer.lessons.lesson import load_lesson
from viewer.window.app import main

LESSON = "scenarios/lessons/centres_under_nozzles.toml"


def words_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", page, flags=re.S)).split())


def test_it_asks_first_and_answers_on_a_page_of_its_own(root, tmp_path):
    lesson, pages = load_lesson(root / LESSON), []
    for name, more in (("a.html", []), ("b.html", []), ("inch.html", ["--units", "inch"])):
        main(["--lesson", str(root / LESSON), "--handout", str(tmp_path / name), *more])
        pages.append((tmp_path / name).read_text(encoding="utf-8"))
    assert pages[0] == pages[1]
    asks, answers = (words_of(part) for part in pages[0].split('<section class="page">'))
    questions = [s.row.question for s in lesson.scenes if s.row.question is not None]
    assert len(questions) == 2
    assert asks.count("Because:") == 2
    assert asks.count("What happened:") == 1
    for text in (lesson.title, lesson.goal, CAUTION_LINE, *(c.say for c in questions[0].choices)):
        assert text in asks
    assert "The answer is" not in asks
    for text in (*CAUTIONS, lesson.takeaway):
        assert text in answers
    above, below = re.findall(r"([\d.]+) mm off (?:above|below)", answers)
    assert float(below) - float(above) == pytest.approx(28.6, abs=0.11), "as far as it was moved"
    assert "The answer is 2: Below." in answers
    assert "The answer is 2: No." in answers
    assert not re.search(r"\d mm\b", words_of(pages[2]))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--capture", "x.png"], "--handout: got --capture too"),
        (["--handout", "x.pdf"], "--handout: got x.pdf; needs a name that ends in .html"),
        (["--handout", "there.html"], "there.html; needs a new file name, or --replace"),
        (["--handout", "no/l.html"], "needs a folder that exists"),
        (["--size", "211 body"], "--size: got --lesson too"),
    ],
)
def test_what_cannot_be_is_refused(root, tmp_path, monkeypatch, capsys, more, said):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.html").write_text("mine", encoding="utf-8")
    with pytest.raises(SystemExit) as end:
        main(["--lesson", str(root / LESSON), "--handout", "l.html", *more])
    assert end.value.code == 2
    assert said in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["there.html"]
    assert (tmp_path / "there.html").read_text(encoding="utf-8") == "mine"


def test_there_is_none_without_a_lesson(root, capsys):
    with pytest.raises(SystemExit):
        main([str(root / "scenarios/first_look.toml"), "--handout", "l.html"])
    assert "--handout: got no --lesson; needs --lesson FILE beside it" in capsys.readouterr().err
