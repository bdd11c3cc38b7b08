"""The same setting has one chance of a tip with one interval, whichever command is asked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from packsim.answers import answer_line
from packsim.chance import chance_of
from packsim.cli.outputs import chances
from packsim.compare import compare, compare_lines
from packsim.counts.order import Order
from packsim.line import Scenario, Wires
from packsim.report.files.as_json import as_json, plain
from packsim.report.words.chance_words import Told, beside_verdicts, rate_text
from packsim.report.words.run_case import RunCase
from packsim.size_change import plan_change
from packsim.study import study_line
from packsim.sweep import sweep
from packsim.trial import chances as trial_chances
from packsim.trial.plan import plan_trial
from tests.small_line import small_line, small_stage

WIDTH = 612.0
"""Ten lanes of 66 mm with 32 mm of slack, all of it at the right guide: cans there tip [mm]."""


@pytest.fixture(scope="module", autouse=True)
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Passages are kept for this file: the first command runs them, the others find them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("passages")))
        patch.setattr(trial_chances, "chance_of", chance_of)  # the other files here run none
        patch.setattr(compare, "chance_of", chance_of)
        yield


@pytest.fixture(scope="module")
def line() -> Scenario:
    stage = small_stage(left=500.0 - WIDTH / 2.0, right=500.0 + WIDTH / 2.0)
    wires = Wires((30.0, 60.0), 600.0, 0.0, 1.3e6)
    kicks = replace(stage.kicks, energy_mJ=0.3)
    made = small_line(
        replace(stage, fill=0.95, kicks=kicks, guides=replace(stage.guides, wires=wires))
    )
    return replace(made, mat=replace(made.mat, pack_enters=0.0))


@pytest.fixture(scope="module")
def told(line: Scenario) -> dict[str, dict[str, Any]]:
    """What each command writes as JSON of the one stage, by command."""
    found = chances([("big", line)])
    study = as_json("study", line, study_line(line, sizes=["big"]), chances=found)
    change = as_json("change", line, plan_change(line, "big", "big"), chances=found)
    swept = as_json(
        "sweep", line, sweep(line, "clear-width", [WIDTH], "wash", "big", chance=True), unit="mm"
    )
    compared = as_json("compare", line, compare_lines({"a": line, "b": line}, ["big"]))
    counted = Order(cans=200).count(line)
    run = as_json("run", line, cases=(RunCase("as set", line, counted, "", *found),))
    return {
        "study --chance": study["chances"][0]["stages"][0],
        "change --chance": change["chances"][0]["stages"][0],
        "sweep": swept["rows"][0],
        "trial plan": as_json("trial plan", line, plan_trial(line, "big"))["settings"][0],
        "compare": compared["sizes"][0]["stages"][0]["chances"][1],
        "compare, line": compared["sizes"][0]["chances"][0]["stages"][0],
        "run": run["cases"][0]["chance"]["stages"][0],
    }


def test_every_command_says_the_same_chance(
    line: Scenario, told: dict[str, dict[str, Any]]
) -> None:
    once = chance_of(line, "big").stages[0]
    assert once.tips_per_million > 1.0
    for who, said in told.items():
        assert said["tips_per_million"] == plain(once.tips_per_million), who
        assert said["tips_per_million_interval"] == plain(once.interval), who


def test_a_table_says_it_in_the_same_words(line: Scenario) -> None:
    chance = chance_of(line, "big")
    (row,) = Told("big", line, chance).rows
    assert row == ("wash", (rate_text(chance.line), *row[1][1:]))


def test_the_line_with_one_stage_has_the_chance_of_that_stage(line: Scenario) -> None:
    chance = chance_of(line, "big")
    assert chance.tips_per_million == pytest.approx(chance.stages[0].tips_per_million)


def test_no_verdict_stands_against_the_chance_without_a_word(line: Scenario) -> None:
    """Where the slack as set cannot tip a can, the chance is none; where both differ it is said."""
    for width in (590.0, WIDTH):
        stage = line.stages[0].with_clear_width(width)
        case = replace(line, stages=(stage,))
        chance, answers = chance_of(case, "big"), answer_line(case, "big")
        tips = chance.tips_per_million >= 1e-3
        can_tip = answers[0].tipping.verdict == "can tip"
        assert bool(beside_verdicts(chance, answers)) == (tips != can_tip)


def test_a_sweep_at_other_kicks_uses_the_same_passages(line: Scenario) -> None:
    kicks = (0.1, 0.3, 0.9)
    found = sweep(line, "clear-width", [WIDTH], "wash", "big", chance=True, kicks_mJ=kicks)
    (row,) = found.rows
    weak, same, strong = (one.tips_per_million for one in row.at_kicks)
    assert found.kicks_mJ == kicks
    assert same == row.tips_per_million  # the line's own energy
    assert weak < same < strong
