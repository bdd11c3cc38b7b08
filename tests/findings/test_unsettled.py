"""No finding moves guides that may have to go the other way: it says what to measure first."""

from __future__ import annotations

import os
import re
from dataclasses import replace

import numpy as np
import pytest

from packsim import kept, load_scenario
from packsim.answers.answer_inputs import InputAnswers
from packsim.doubt import confidence
from packsim.doubt import standing as room
from packsim.doubt.confidence import MOVES, moves_wanted, rng_of, values_at
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.standing import standing
from packsim.errors import whole_percent
from packsim.findings.rules import MOVING, said_of
from packsim.findings.unsettled import VISIT, wanted
from packsim.line import Scenario, with_value
from packsim.study import study_line

INCHES = load_scenario("scenarios/imperial_line.toml")
FIRST = load_scenario("scenarios/first_look.toml")


def known(line: Scenario, *keys: str) -> Scenario:
    """The line with some inputs exact, or all of them."""
    ranges = tuple(
        replace(one, low=one.value, high=one.value, kind="measured")
        if one.key in keys or not keys
        else one
        for one in line.ranges
    )
    return replace(line, ranges=ranges)


def test_a_line_of_which_nobody_knows_the_rows_is_photographed_before_a_guide_is_moved():
    found = study_line(INCHES, stages=["pre-rinse"], sizes=["211 body"])
    (said,) = (one for one in found.findings if one.level == "change")
    assert said.do.startswith("measure first: photograph the rows from above; if all is as taken:")
    assert said.command == VISIT
    sure = standing(INCHES, "pre-rinse", "211 body").sure
    right = whole_percent(sure.share_by_move["close"])
    assert f"can tip in {whole_percent(sure.share)} of what is possible" in said.what
    assert f"closing the guides is right in {right}" in said.what


def test_a_tolerance_is_measured_before_closer_cans_are_bought():
    found = study_line(INCHES, stages=["wash"], sizes=["sleek body"])
    (said,) = (one for one in found.findings if one.level == "change")
    assert said.do.startswith("measure first: caliper ten bodies; if all is as taken: ")
    read = tuple(replace(one, kind="measured") for one in INCHES.ranges)
    found = study_line(replace(INCHES, ranges=read), stages=["wash"], sizes=["sleek body"])
    assert not any("caliper" in one.do for one in found.findings)


def test_what_is_known_exactly_is_advised_as_before():
    found = study_line(known(INCHES), stages=["pre-rinse"], sizes=["211 body"])
    (said,) = (one for one in found.findings if one.level == "change")
    assert "close the guides by" in said.do
    assert "measure" not in said.do


def test_a_held_can_that_may_well_tip_is_told_of():
    (said,) = (one for one in study_line(FIRST).findings if one.command == VISIT)
    sure = standing(FIRST, "wash", "211 body").sure
    assert said.what.startswith("as taken no can tips, but that is not sure: held in ")
    assert whole_percent(sure.share) in said.what
    assert said.do == "measure first: photograph the rows from above; run: " + VISIT
    assert not any(one.command == VISIT for one in study_line(known(FIRST)).findings)


@pytest.mark.parametrize("stage", ["pre-rinse", pytest.param("treatment", marks=pytest.mark.all)])
def test_the_moves_wanted_are_those_of_answers_one_by_one(stage: str):
    near = InputAnswers(INCHES, stage, "211 body")
    shares = np.random.default_rng(3).random((len(near.inputs), 6))
    drawn = values_at(near.inputs, shares)
    found = moves_wanted(near.answers(drawn))
    for k in range(6):
        line = INCHES
        for one in near.inputs:
            line = with_value(line, one.key, float(drawn[one.key][k]))
        answer = study_line(replace(line, ranges=()), stages=[stage], sizes=["211 body"]).answers[0]
        assert found[k] == wanted(answer)


def test_shares_of_moves_add_up_and_are_those_of_doubt():
    sure = confidence(
        InputAnswers(FIRST, "wash", "211 body"), rng_of(FIRST, "wash", "211 body", FIRST.seed)
    )
    assert sure == standing(FIRST, "wash", "211 body").sure
    assert sum(sure.moves) == pytest.approx(1.0)
    assert tuple(sure.share_by_move) == MOVES


@pytest.mark.parametrize("rule", MOVING)
def test_every_rule_that_moves_guides_is_held_back_or_has_nothing_to_say(rule):
    for answer in study_line(INCHES).answers:
        said = said_of(rule, INCHES, answer)
        assert said is None or said.do.startswith("measure first: ")


def test_another_stage_set_anew_leaves_what_is_kept_of_this_one(tmp_path, monkeypatch):
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path))
    room._standing.cache_clear()  # what another test asked for is not on this disk
    line = load_scenario("scenarios/swing_line.toml")
    index = {stage.name: i for i, stage in enumerate(line.stages)}
    first = standing(line, "drain", "211 body")
    other = with_value(line, f"stages[{index['wash']}].clear_width", 1380.0)
    own = with_value(line, f"stages[{index['drain']}].clear_width", 1400.0)
    assert standing(own, "drain", "211 body") != first
    monkeypatch.setattr(room, "_worked_out", lambda *_: pytest.fail("worked out again"))
    assert standing(other, "drain", "211 body") == first


def test_what_is_kept_on_disk_is_what_was_found(tmp_path, monkeypatch):
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path))
    room._standing.cache_clear()
    first = standing(FIRST, "wash", "211 body")
    (file,) = (tmp_path / "standing").glob("*.json")
    room._standing.cache_clear()
    monkeypatch.setattr(room, "_worked_out", lambda *_: pytest.fail("worked out again"))
    assert standing(FIRST, "wash", "211 body") == first
    monkeypatch.undo()
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path))
    file.write_text("{", encoding="utf-8")  # cut off: found anew
    room._standing.cache_clear()
    assert standing(FIRST, "wash", "211 body") == first
    # another range is another line, though every value is the same
    other = known(FIRST, "stages[0].rows")
    assert other == FIRST
    assert standing(other, "wash", "211 body") != first


def test_a_clock_set_back_does_not_make_what_is_new_the_oldest(tmp_path, monkeypatch):
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path))
    monkeypatch.setattr(room, "_MOST_FILES", 2)
    (tmp_path / "standing").mkdir()
    for name in ("a", "b"):
        old = tmp_path / "standing" / f"{name}.json"
        old.write_text("{}", encoding="utf-8")
        os.utime(old, (4e9, 4e9 + ord(name)))
    room._standing.cache_clear()
    standing(FIRST, "wash", "211 body")
    left = {file.stem for file in (tmp_path / "standing").iterdir()}
    assert len(left) == 2
    assert left > {"b"}


def test_the_action_named_settles_an_input_that_turns_the_verdict_alone():
    found = standing(FIRST, "wash", "211 body")
    turned = [
        one.key
        for one in FIRST.ranges
        if one.choices
        for k in range(len(one.choices))
        if wanted(study_line(with_value(FIRST, one.key, k)).answers[0]) != "stays"
    ]
    assert found.action in ACTIONS
    assert any(found.action.settled(key) for key in turned)


def test_shares_over_several_stages_are_told_from_the_least_to_the_most():
    found = study_line(INCHES, sizes=["211 body"])
    said = next(one for one in found.findings if len(one.stages) > 1 and one.command == VISIT)
    shares = [standing(INCHES, name, "211 body").sure.share for name in said.stages]
    low, high = (whole_percent(end(shares)) for end in (np.min, np.max))
    assert re.search(rf"can tip in {low[:-2]} to {high} of what", said.what)
