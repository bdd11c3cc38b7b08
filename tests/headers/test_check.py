"""The check of headers: sides apart, doses as dose() gives them, what is left out and said so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from packsim.answers import answer_stage
from packsim.answers.quantities import quantity
from packsim.errors import InputError
from packsim.headers import check_headers
from packsim.line import Scenario
from packsim.spray.dose import dose
from packsim.spray.uniformity import christiansen
from tests.shipped import studied

DIAMETER = 66.0
PITCH = DIAMETER * math.sqrt(3.0) / 2.0

Make = Callable[..., Any]


def test_aligned_headers_are_met_by_every_lane(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header("above", first_lane_mm()), header("below", first_lane_mm()))
    (check,) = check_headers(case)
    assert [side.side for side in check.sides] == ["above", "below"]
    assert check.at.pack.lanes == 10
    for side in check.sides:
        assert side.now.worst_mm == pytest.approx(0.0, abs=1e-9)


def test_a_lane_served_well_from_one_side_only_does_not_look_aligned(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header("above", first_lane_mm()), header("below", first_lane_mm() + PITCH / 2))
    (check,) = check_headers(case)
    above, below = check.side("above"), check.side("below")
    assert above is not None
    assert below is not None
    assert above.now.worst_mm == pytest.approx(0.0, abs=1e-9)
    assert below.now.worst_mm == pytest.approx(PITCH / 2)
    (only,) = check_headers(washer(header("above", first_lane_mm())))
    assert only.side("below") is None
    assert {d.place for d in only.doses} == {"top", "outside"}


def test_doses_are_those_of_dose_and_their_evenness_is_weighted(swing: Scenario) -> None:
    for check in check_headers(swing, ["wash"]):
        at = check.at
        got = dose(at.lines_mm, at.cans_per_mm, at.stance, at.stage.headers, swing.mat)
        want = {"inside": got.inside_mL, "top": got.top_mL, "outside": got.outside_mL}
        for one in check.doses:
            assert one.medium == "liquid"
            np.testing.assert_allclose(one.by_lane_mL, want[one.place], rtol=1e-12)
            judge = christiansen(want[one.place], at.shares)
            assert one.even.coefficient == pytest.approx(judge)


def test_the_answer_of_the_study_gets_the_same(swing: Scenario) -> None:
    for check in check_headers(swing, ["wash", "blow-off"]):
        answer = answer_stage(swing, check.at.stage.name, check.at.can.name)
        for one in check.doses:
            if one.place == "outside":
                continue
            # an answer knows its lines to 1e-9 mm
            np.testing.assert_allclose(answer.doses[one.place], one.by_lane_mL, rtol=1e-11)
            least = quantity(f"least_dose_{one.place}_mL").of(answer)
            assert least == pytest.approx(one.by_lane_mL.min())
            share = quantity(f"least_share_{one.place}").of(answer)
            assert share == pytest.approx(one.even.least_share)
    assert quantity("least_dose_top_mL").of(answer_stage(swing, "drain", "211 body")) is None


def test_all_of_the_flow_above_the_pack_lands_on_it(
    swing: Scenario, header: Make, washer: Make, first_lane_mm: Make
) -> None:
    # what is sprayed within the width of the pack is on tops or down the outside: none is lost
    narrow = replace(header("above", first_lane_mm() + 4 * PITCH, count=1), pressure_MPa=0.2)
    case = washer(narrow)
    (check,) = check_headers(case)
    total = sum(float(d.by_lane_mL @ check.at.cans_per_mm) for d in check.doses)
    per_mm = 1.3e4 / case.mat.speed_mm_per_s / 1000.0  # mm3/s at its rated pressure -> mL per mm
    assert total == pytest.approx(per_mm, rel=1e-4)


def test_air_and_water_are_never_added(swing: Scenario) -> None:
    (air,) = check_headers(swing, ["blow-off"], ["211 body"])
    assert {d.medium for d in air.doses} == {"gas"}
    stage = swing.stage("wash")
    both = replace(stage, headers=(*stage.headers, *swing.stage("blow-off").headers))
    both = replace(both, headers=tuple(replace(h, station_mm=300.0) for h in both.headers))
    (mixed,) = check_headers(replace(swing, stages=(both,), assumed=()), sizes=["211 body"])
    (plain,) = check_headers(replace(swing, stages=(stage,), assumed=()), sizes=["211 body"])
    top = {d.medium: d.by_lane_mL for d in mixed.doses if d.place == "top"}
    np.testing.assert_allclose(
        top["liquid"], next(d.by_lane_mL for d in plain.doses if d.place == "top")
    )
    assert top["gas"].mean() > 100.0


def test_a_header_among_the_cans_sprays_nothing_and_is_counted(
    header: Make, washer: Make, first_lane_mm: Make
) -> None:
    low = replace(header("above", first_lane_mm()), mat_distance_mm=100.0)
    (check,) = check_headers(washer(low, header("below", first_lane_mm())))
    assert check.at.blocked == (low,)
    assert {d.place for d in check.doses} == {"inside"}
    side = check.side("above")
    assert side is not None
    assert side.narrowest is None


def test_a_pack_that_does_not_fit_is_a_result(header: Make, washer: Make) -> None:
    case = washer(header("above", 400.0), clear_width_mm=DIAMETER - 1.0)
    (check,) = check_headers(case)
    assert check.sides == ()
    assert check.doses == ()
    assert check.at.pack.reason


def test_misalignment_is_that_of_the_study(swing: Scenario) -> None:
    found = studied("swing_line.toml")
    for check in check_headers(swing):
        judge = found.answer(check.at.stage.name, check.at.can.name).alignment
        assert judge is not None
        worst = max(side.now.worst_mm for side in check.sides)
        assert worst == pytest.approx(judge.now.worst_mm, abs=1e-12)


def test_only_what_bears_on_nozzles_is_named_as_assumed(swing: Scenario) -> None:
    (check,) = check_headers(swing, ["wash"], ["sleek body"])
    keys = [a.key for a in check.assumed]
    assert "spray.rays" in keys
    assert "exposure.reach_gap" in keys
    assert "sizes[sleek body].diameter" in keys
    assert not [key for key in keys if "kicks" in key or "mass" in key]


def test_stages_without_headers_are_left_out_and_none_is_refused(swing: Scenario) -> None:
    assert "drain" not in {c.at.stage.name for c in check_headers(swing)}
    with pytest.raises(InputError, match="header"):
        check_headers(swing, ["drain"])
    with pytest.raises(InputError, match="nope"):
        check_headers(swing, ["nope"])
