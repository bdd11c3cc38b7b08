"""Where the pack must ride: closed forms, the study, and a can's hold before and after."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from packsim.headers import check_headers, find_shifts, refit_for
from packsim.line import Scenario
from packsim.setting import recommend
from packsim.spray.spray_load import spray_load
from tests.shipped import studied

DIAMETER = 66.0
PITCH = DIAMETER * math.sqrt(3.0) / 2.0

Make = Callable[..., Any]


def test_a_header_off_by_seven_wants_the_pack_seven_over(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    for off in (-7.0, 0.0, 7.0):
        case = washer(
            header("above", first_lane_mm() + off), header("below", first_lane_mm() + off)
        )
        (line,) = find_shifts(case)
        (stage,) = line.stages
        for best in (stage.joint, line.joint, *(side.best for side in stage.sides)):
            assert best is not None
            assert best.shift_for_worst_mm == pytest.approx(off, abs=1e-9)
            assert best.worst_mm == pytest.approx(0.0, abs=1e-9)
        assert stage.joint_now_mm[0] == pytest.approx(abs(off))


def test_sides_that_disagree_meet_half_way(header: Make, washer: Make, first_lane_mm: Make) -> None:
    case = washer(header("above", first_lane_mm() - 2.0), header("below", first_lane_mm() + 8.0))
    (line,) = find_shifts(case)
    stage = line.stages[0]
    assert stage.joint is not None
    assert stage.joint.shift_for_worst_mm == pytest.approx(3.0)
    assert stage.joint.worst_mm == pytest.approx(5.0)
    assert [side.best.shift_for_worst_mm for side in stage.sides] == pytest.approx([-2.0, 8.0])


def test_a_lane_more_or_fewer_moves_the_lanes_by_half_a_pitch(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    # 14 nozzles reach beyond ten lanes at both ends, so the best shift is half a line pitch
    case = washer(header("above", first_lane_mm() - 2 * PITCH, count=14))
    stage = find_shifts(case)[0].stages[0]
    assert [one.lanes for one in stage.other_lane_counts] == [9, 11]
    for one in stage.other_lane_counts:
        assert one.best is not None
        assert abs(one.best.shift_for_worst_mm) == pytest.approx(PITCH / 2)
        assert one.best.worst_mm == pytest.approx(0.0, abs=1e-9)


def test_guides_that_would_leave_the_mat_have_no_other_lane_count(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header("above", first_lane_mm()), clear_width_mm=606.0)
    narrow = replace(case, mat=replace(case.mat, width_mm=640.0))
    stage = replace(narrow.stages[0], guides=narrow.stages[0].guides.set_to(606.0, 320.0))
    found = find_shifts(narrow.with_stages((stage,)))[0].stages[0]
    assert {one.lanes: one.best is None for one in found.other_lane_counts} == {9: False, 11: True}
    assert found.at.room_mm == pytest.approx((17.0, 17.0))


def test_an_error_costs_what_it_is_and_defaults_to_the_play_there_is(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header("above", first_lane_mm() + 3.0))
    stage = find_shifts(case)[0].stages[0]
    slack = 606.0 - (DIAMETER + 9 * PITCH)
    assert stage.error_mm == pytest.approx(slack / 2.0 + 0.5)  # half a setting step of 1 mm
    assert stage.nozzle_offset_with_error_mm == pytest.approx(stage.error_mm, abs=1e-9)
    assert stage.cost_per_mm == (1.0, 1.0)
    asked = find_shifts(case, error_mm=2.0)[0].stages[0]
    assert asked.nozzle_offset_with_error_mm == pytest.approx(2.0)


def test_hold_margin_is_that_of_the_sprays_and_alignment_helps_it(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header("above", first_lane_mm() + 15.0, count=10))
    stage = find_shifts(case)[0].stages[0]
    assert stage.joint is not None
    lines = stage.at.lines_mm + stage.joint.shift_for_worst_mm
    headers = case.stages[0].headers
    judge = spray_load(lines, stage.at.stance, headers, case.mat.open_fraction).hold_margin
    assert stage.hold_margin_shifted == pytest.approx(float(judge.min()))
    assert stage.hold_margin_shifted > stage.hold_margin


def test_what_a_shift_does_to_the_worst_lane_is_that_of_the_check(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    # nozzles half a pitch off and one beyond the right end: a shift onto them leaves the left dry
    case = washer(header("above", first_lane_mm() + PITCH / 2.0, count=10))
    stage = find_shifts(case)[0].stages[0]
    assert stage.joint is not None
    move = stage.joint.shift_for_worst_mm
    guides = case.stages[0].guides
    there = replace(case.stages[0], guides=guides.set_to(606.0, guides.centre_mm + move))
    for at, share in (
        (case, stage.least_share),
        (case.with_stages((there,)), stage.least_share_shifted),
    ):
        (check,) = check_headers(at)
        least = next(d.even.least_share for d in check.doses if d.place == "top")
        assert share == pytest.approx(least)
    assert abs(stage.least_share - stage.least_share_shifted) > 0.02


def test_shifts_are_those_of_the_study(swing: Scenario) -> None:
    found = studied("swing_line.toml")
    for line in find_shifts(swing):
        for stage in line.stages:
            judge = found.answer(stage.at.stage.name, line.size).alignment
            assert judge is not None
            side = next(s for s in stage.sides if s.side == judge.side)
            assert side.best == judge.best
            assert stage.at.room_mm == judge.room_mm
            answer = found.answer(stage.at.stage.name, line.size)
            assert answer.lightest is not None
            assert stage.hold_margin == pytest.approx(float(answer.lightest.hold_margin.min()))


def test_one_shift_for_the_line_is_no_better_than_each_stage_by_itself(swing: Scenario) -> None:
    moved = [
        replace(
            stage,
            headers=tuple(replace(h, first_mm=h.first_mm + 3.0 * i) for h in stage.headers),
        )
        for i, stage in enumerate(swing.stages)
    ]
    case = swing.with_stages(tuple(moved))
    (line,) = find_shifts(case, ["pre-rinse", "pre-wash", "wash"], ["211 body"])
    assert line.joint is not None
    alone = [s.joint.shift_for_worst_mm for s in line.stages if s.joint is not None]
    np.testing.assert_allclose(np.diff(alone), 3.0, atol=1e-9)
    assert line.joint.shift_for_worst_mm == pytest.approx(np.mean([alone[0], alone[-1]]))
    worst = [s.joint.worst_mm for s in line.stages if s.joint is not None]
    assert line.joint.worst_mm == pytest.approx(max(worst) + 3.0)


def test_refitted_guides_are_those_recommended(swing: Scenario) -> None:
    fitted, note = refit_for(swing, "sleek body")
    setting = recommend(swing, "sleek body")
    assert fitted == setting.line
    assert "no safe setting in pre-wash, wash, rinse" in note
    # pre-wash and wash have no safe width for the size they run: the lowest that cannot jam, on
    # whole steps of 0.5 mm a side; the rinse stands too wide
    for now, new in zip(swing.stages, refit_for(swing, swing.set_for)[0].stages, strict=True):
        if now.name not in ("pre-wash", "wash", "rinse"):
            assert new == now
            continue
        assert replace(new, guides=replace(new.guides, brackets=now.guides.brackets)) == now
        if now.name == "rinse":
            continue
        brackets = new.guides.brackets
        assert {(one.left_mm, one.right_mm) for one in brackets} == {(106.0, 1493.5)}
        answers = studied("swing_line.toml").of_size(swing.set_for)
        (answer,) = (a for a in answers if a.stage == now.name)
        tightest = sum(term.tightest_mm for term in answer.budget.terms)
        lowest = 66.09 * (1.0 + 23.0 * math.sqrt(3.0) / 2.0) - tightest
        assert 1387.0 < lowest < 1493.5 - 106.0
    assert refit_for(swing, None) == (swing, "")


def test_a_pack_that_does_not_fit_has_no_shift(header: Make, washer: Make) -> None:
    case = washer(header("above", 400.0), clear_width_mm=DIAMETER - 1.0)
    (line,) = find_shifts(case)
    assert line.joint is None
    assert line.stages[0].joint is None
    assert line.stages[0].at.pack.reason
