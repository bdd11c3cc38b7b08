"""The answers panel gives the words of a study."""

from pathlib import Path

import pytest

from packsim.report.words.display import Display
from packsim.report.words.summary import set_to_words, slack_words
from packsim.scenario import load_scenario
from packsim.study import study_line, summarize
from viewer.line import LoadedLine, answers_of
from viewer.views.answers import answer_rows


@pytest.mark.parametrize("size", ["211 body", "sleek body"])
def test_slack_and_setting_read_as_on_the_first_screen_of_a_study(root: Path, size: str) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    (told,) = summarize(study_line(case, sizes=[size]))
    found = answers_of(LoadedLine(case, size))
    for stage, answer in zip(told.stages, found, strict=True):
        rows = {name: value for name, value, _ in answer_rows(answer, LoadedLine(case, size))}
        assert rows["worst/allowed slack"] == f"{slack_words(stage, Display())} mm"
        assert rows["set to"] == f"{set_to_words(stage, Display())}, {told.setting.lanes} lanes"
        assert rows["verdict"] == stage.answer.tipping.verdict
