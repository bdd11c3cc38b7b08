"""Every shipped scenario is answered, and a number of each is worked out again from its text."""

from __future__ import annotations

import json
import math
import tomllib
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from packsim import answer_stage, load_scenario
from packsim.report.files.as_json import as_json
from packsim.scenario.once import written_out
from packsim.study import LEVELS, study_line
from tests.shipped import studied

FILES = sorted(p.name for p in (Path(__file__).parents[2] / "scenarios").glob("*.toml"))
ROOT3 = math.sqrt(3.0)


def length_mm(text: str) -> float:
    """A length as a file has it, read without our own units."""
    number, unit = text.rsplit(" ", 1)
    whole = sum(Fraction(part) for part in number.split(" "))
    return float(whole) * {"mm": 1.0, "m": 1000.0, "in": 25.4, "ft": 304.8}[unit]


def written_mm(root: Path, name: str, stage: str, key: str) -> float:
    with (root / "scenarios" / name).open("rb") as file:
        stages = written_out(tomllib.load(file))[0]["stages"]
    return length_mm(next(s for s in stages if s["name"] == stage)[key])


def test_progress_is_told_of_work_that_is_done(root: Path) -> None:
    """Answers are worked out when asked: a bar that ran ahead of that would stand at its end."""
    line = load_scenario(root / "scenarios" / "height_only.toml")
    line = replace(line, factor=line.factor + 0.125)  # not asked before
    jobs = [(stage.name, can.name) for can in line.sizes for stage in line.stages]
    told: list[bool] = []

    def tick(done: int, of: int) -> None:
        assert of == len(jobs)
        told.extend("verdict" in vars(answer_stage(line, *job).tipping) for job in jobs[:done])
        assert not any("verdict" in vars(answer_stage(line, *job).tipping) for job in jobs[done:])

    study_line(line, tick)
    assert told
    assert all(told)


def test_there_are_scenarios() -> None:
    assert {"first_look.toml", "swing_line.toml", "height_only.toml", "oven_lane.toml"} <= {*FILES}


@pytest.mark.parametrize("name", FILES)
def test_it_is_answered_with_findings(root: Path, name: str) -> None:
    found = studied(name)
    assert len(found.answers) == len(found.scenario.stages) * len(found.scenario.sizes)
    assert found.findings
    assert {f.level for f in found.findings} <= set(LEVELS)
    # every answer is spoken of
    spoken = {(f.size, stage) for f in found.findings for stage in f.stages}
    assert spoken == {(s.size, s.stage) for s in found.answers}
    json.dumps(as_json("study", found.scenario, found), allow_nan=False)
    assert found.assumed  # invented numbers say so


@pytest.mark.parametrize("name", FILES)
def test_the_size_the_guides_are_set_for_runs(root: Path, name: str) -> None:
    found = studied(name)
    mine = [f for f in found.findings if f.size == found.scenario.set_for]
    assert "stop" not in {f.level for f in mine}


def test_swing_line(root: Path) -> None:
    found = studied("swing_line.toml")
    big = found.answer("pre-rinse", "211 body")
    # 24 lanes of 66.09 mm
    width = written_mm(root, "swing_line.toml", "pre-rinse", "clear_width")
    need = 66.09 * (1.0 + 23.0 * ROOT3 / 2.0)
    assert big.pack.lanes == 24
    assert big.pack.slack_mm == pytest.approx(width - need, abs=1e-9)
    # 24 cans in 66.09 mm at 99 % fill and 5.5 m/min
    assert big.flow.cans_per_min == pytest.approx(24 / 0.06609 * 0.99 * 5.5)
    # the sleek body, 58 mm: 27 lanes, and the next would need 50.2 mm more
    slim = found.answer("pre-rinse", "sleek body")
    assert slim.pack.lanes == 1 + math.floor((width - 58.0) / (58.0 * ROOT3 / 2.0)) == 27
    # the hold-down over a body of 157.5 mm
    mat = found.answer("pre-wash", "sleek body").hold_down
    height = written_mm(root, "swing_line.toml", "pre-wash", "hold_down")
    assert mat is not None
    assert mat.clearance_mm == pytest.approx(height - 157.5, abs=0.05)
    # 8 stages: 1.2 + 2.5 + 5 + 0.6 + 2.5 + 2 + 1.8 + 1 = 16.6 m at 5.5 m/min
    assert sum(s.dwell_s for s in found.of_size("211 body")) == pytest.approx(16.6 / 5.5 * 60.0)


def test_first_look(root: Path) -> None:
    (answer,) = studied("first_look.toml").answers
    assert answer.pack.lanes == 10
    assert answer.pack.slack_mm == pytest.approx(588.0 - 66.09 * (1.0 + 9.0 * ROOT3 / 2.0))
    assert answer.dwell_s == pytest.approx(30.0)
    assert answer.tipping.verdict == "held"


def test_oven_lane(root: Path) -> None:
    found = studied("oven_lane.toml")
    bake = found.answer("bake", "12 oz")
    # rows of 16 and 15 need 1057.44 mm
    assert (bake.pack.lanes, bake.budget.slack_mm) == (31, pytest.approx(1066 - 16 * 66.09))
    # cans 16 x 66.09 mm over 180 K at 23.94e-6, the frame 1066 mm at 16e-6
    assert bake.budget.term("growth of cans").loosest_mm == pytest.approx(
        -16 * 66.09 * 180 * 2.394e-5, rel=0.02
    )
    assert bake.budget.term("growth of frame").loosest_mm == pytest.approx(1066 * 180 * 1.6e-5)
    # 31 cans in two rows, D √3/2 from each other
    row = 66.09 * ROOT3 / 2.0
    assert bake.flow.cans_per_min == pytest.approx(31 / (2 * row) * 0.97 * 7000.0)


def test_height_only(root: Path) -> None:
    found = studied("height_only.toml")
    width = written_mm(root, "height_only.toml", "wash", "clear_width")
    for size in ("12 oz", "16 oz"):
        answer = found.answer("wash", size)
        assert answer.pack.slack_mm == pytest.approx(width - 66.09 * (1.0 + 16.0 * ROOT3 / 2.0))
    low = found.answer("wash", "12 oz").hold_down
    assert low is not None
    height = written_mm(root, "height_only.toml", "wash", "hold_down")
    assert low.clearance_mm == pytest.approx(height - 124.3, abs=1e-6)
    short, tall = (found.answer("drain", size).tipping.safe for size in ("12 oz", "16 oz"))
    assert short.governing_wire_mm is not None
    # a wire hangs a little lower at mid-span than at its brackets
    with (root / "scenarios" / "height_only.toml").open("rb") as file:
        heights = tomllib.load(file)["guides"]["wire_heights"]
    top = length_mm(heights[-1])
    assert top - 1.0 < short.governing_wire_mm < top
    assert tall.slack_mm < short.slack_mm


def test_imperial_line(root: Path) -> None:
    """Six stages and 32 headers in under 120 lines; the rows decide, and so does the diameter."""
    file = root / "scenarios" / "imperial_line.toml"
    text = file.read_text(encoding="utf-8")
    line = load_scenario(file)
    assert len(text.splitlines()) < 120
    assert (len(line.stages), sum(len(stage.headers) for stage in line.stages)) == (6, 32)
    width, diameter = line.stages[0].guides.narrowest_mm, line.size("211 body").diameter_mm
    along = width - diameter * (1.0 + 18.0 * math.sqrt(0.75))
    across = width - 17.0 * diameter
    assert [round(slack / 25.4, 2) for slack in (along, across)] == [1.21, 0.14]
    assert "leave 1.21 in" in text
    assert "leave 0.14 in" in text
    for stage in line.stages:
        for layout, slack in (("lengthwise", along), ("crosswise", across)):
            stages = tuple(replace(each, layout=layout) for each in line.stages)
            found = answer_stage(replace(line, stages=stages), stage.name, "211 body")
            assert found.pack.slack_mm == pytest.approx(slack, abs=1e-6)
        budget = answer_stage(line, stage.name, "sleek body").budget
        terms = {term.name: term.loosest_mm for term in budget.terms}
        assert 2.0 * terms["can tolerance"] > budget.loosest_mm
