"""The answers panel gives the words of a study."""

from pathlib import Path

import pytest

from packsim.report.words.display import Display
from packsim.report.words.summary import SET_TO, WINDOW, set_to_words, slack_words
from packsim.scenario import load_scenario
from packsim.study import study_line, summarize
from viewer.line import LoadedLine, answers_of
from viewer.views.answers import PAST, WAITS, WHY, answer_rows, crushes, why_words


@pytest.mark.parametrize("size", ["211 body", "sleek body"])
def test_slack_and_setting_read_as_on_the_first_screen_of_a_study(root: Path, size: str) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    (told,) = summarize(study_line(case, sizes=[size]))
    found = answers_of(LoadedLine(case, size))
    for stage, answer in zip(told.stages, found, strict=True):
        rows = {
            name: value for name, value, _ in answer_rows(answer, LoadedLine(case, size), Display())
        }
        assert rows["worst/allowed slack"] == f"{slack_words(stage.answer, Display())} mm"
        assert rows["set to"] == f"{set_to_words(stage, Display())}, {told.setting.lanes} lanes"
        assert rows["verdict"] == stage.answer.tipping.verdict


def test_what_it_is_set_to_waits_while_a_hand_turns_and_nothing_else(root: Path) -> None:
    line = LoadedLine(load_scenario(root / "scenarios" / "swing_line.toml"), "sleek body")
    found = answers_of(line)[0]
    told, first = (answer_rows(found, line, Display(), waits=waits) for waits in (False, True))
    other = [(now, then) for now, then in zip(first, told, strict=True) if now != then]
    assert [now for now, _ in other] == [(SET_TO, WAITS, "quiet"), (WINDOW, WAITS, "quiet")]
    assert [then[0] for _, then in other] == [SET_TO, WINDOW]
    assert not any(WAITS in value for _, value, _ in told)


def test_under_a_hold_down_that_crushes_no_can_is_said_to_have_room_or_none(root: Path) -> None:
    line = LoadedLine(load_scenario(root / "scenarios" / "swing_line.toml"), "sleek body")
    pre_wash = answers_of(line)[1]
    assert crushes(pre_wash)
    for role in range(PAST + 1):
        assert why_words(role, 0.1, pre_wash) == "the hold-down hangs lower than its top"


def test_a_can_that_the_hold_down_stops_is_not_said_to_be_held_by_others(root: Path) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    found = answers_of(LoadedLine(case, case.set_for))[1]
    meets = found.hold_down.meets_rad
    assert why_words(1, meets, found) == "the hold-down stops it"
    assert why_words(1, 0.5 * meets, found) == WHY[1]
    assert why_words(4, meets, found) == WHY[4]
