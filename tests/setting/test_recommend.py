"""The recommended setting of small lines, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.headers import find_shifts
from packsim.line import Bracket, Header, KnownSetting, Nozzle, Stage
from packsim.scenario import load_scenario
from packsim.setting import LineSetting, StageSetting, alternatives, recommend
from tests.small_line import small_line, small_stage

ROOT3 = math.sqrt(3.0)

SAFE = 90.0 * 26.0 / 72.0
"""Safe slack of the small can: its wire at 90 mm times the tangent of its balance angle [mm]."""


def pack(lanes: int) -> float:
    return 52.0 * (1.0 + (lanes - 1) * ROOT3 / 2.0)


def middle(lanes: int, step: float) -> float:
    """Middle of the window: the tightest case loses a step, the loosest gains one."""
    return pack(lanes) + (step + SAFE / 2.0 - step) / 2.0


def one(setting: LineSetting) -> StageSetting:
    assert len(setting.stages) == 1
    return setting.stages[0]


def headed(stage: Stage, middle_mm: float, lanes: int) -> Stage:
    """Nozzles at the lane pitch of the small can about a middle, without pressure."""
    pitch = 52.0 * ROOT3 / 2.0
    nozzle = Nozzle("cone", math.radians(60.0), 3e4, 0.2)
    first = middle_mm - (lanes - 1) / 2.0 * pitch
    return replace(stage, headers=(Header("above", 1000.0, 250.0, first, pitch, lanes, 0, nozzle),))


def test_a_small_line_by_hand() -> None:
    # 590 mm lies between 12 lanes (547.4) and 13 (592.4); both can be set safe, 13 by smaller moves
    found = one(recommend(small_line(small_stage()), "small"))
    assert found.lanes == 13
    assert found.window.low_mm == pytest.approx(pack(13) + 0.5)
    assert found.window.high_mm == pytest.approx(pack(13) + SAFE / 2.0 - 0.5)
    gap = (1000.0 - middle(13, 0.5)) / 2.0
    faces = {(b.left_mm, 1000.0 - b.right_mm) for b in found.brackets}
    assert faces == {(round(2.0 * gap) / 2.0, round(2.0 * gap) / 2.0)}
    assert (found.safe, found.gauge, found.source, found.prevents) == (True, False, "window", "")


def test_lanes_the_user_wants_and_those_beside() -> None:
    case = small_line(small_stage())
    best = recommend(case, "small")
    fewer, more = alternatives(best)
    assert (fewer.lanes, best.lanes, more.lanes) == (12, 13, 14)
    assert recommend(case, "small", lanes=12).stages == fewer.stages
    assert one(fewer).clear_width_mm == pytest.approx(middle(12, 0.5), abs=1.0)
    assert "13 lanes, not 12: smaller moves" in best.reason
    assert "more cans" in recommend(case, "small", keep="dwell").reason
    # at the same cans per minute one lane more is slower by 13/14
    assert more.speed_mm_per_s[1] / best.speed_mm_per_s[1] == pytest.approx(13.0 / 14.0)


def test_safety_counts_before_cans() -> None:
    # 5 mm of travel about 560 mm: 12 lanes are safe up to 563, 13 do not fit at all
    found = one(recommend(small_line(small_stage(travel_mm=(215.0, 225.0))), "small"))
    assert (found.lanes, found.safe) == (12, True)


def test_no_width_is_safe() -> None:
    # ±10 mm against 16.25 mm of allowed slack; the next mark above 12 lanes plus 10 is 560 mm
    found = recommend(small_line(small_stage(setting_step_mm=10.0)), "small")
    part = one(found)
    assert (found.safe, part.source, part.clear_width_mm) == (False, "low end", 560.0)
    assert not part.jams
    assert part.prevents == "no clear width is safe for 12 lanes"
    # the loosest case has 560 + 10 − 547.4 mm of slack at the wire at 90 mm
    lean = math.atan((570.0 - pack(12)) / 90.0)
    assert part.index == pytest.approx(lean / math.atan(26.0 / 72.0), rel=0.05)
    for other in alternatives(found):
        assert other.safe or other.index >= part.index
    assert found.unsafe == (part,)


def test_no_whole_step_in_the_window_takes_a_gauge() -> None:
    # ±8 mm leave 0.25 mm of 16.25; marks of 8 mm from either edge give 592 or 600 or 608
    found = one(recommend(small_line(small_stage(setting_step_mm=8.0)), "small", lanes=13))
    assert (found.gauge, found.safe) == (True, True)
    # both faces on whole tenths, which a sheet can say
    assert found.clear_width_mm == pytest.approx(middle(13, 8.0), abs=0.1)
    tenths = [10.0 * face for b in found.brackets for face in (b.left_mm, 1000.0 - b.right_mm)]
    assert tenths == pytest.approx([round(x) for x in tenths], abs=1e-6)


def test_a_rule_in_inches_is_rounded_to_before_it_is_judged() -> None:
    step = 25.4 / 32.0
    found = one(recommend(small_line(small_stage()), "small", step_mm=step))
    marks = [b.left_mm / step for b in found.brackets]
    assert marks == pytest.approx([round(mark) for mark in marks], abs=1e-9)
    assert found.window.holds(found.clear_width_mm)


@pytest.mark.parametrize(
    ("own_mm", "step_mm"),
    [(25.4 / 8.0, 25.4 / 8.0), (1.5875, 25.4 / 16.0), (1.0, 25.4 / 32.0), (0.5, 25.4 / 32.0)],
)
def test_no_rule_sets_a_bracket_finer_than_its_own_step(own_mm: float, step_mm: float) -> None:
    stage = small_stage()
    stage = replace(stage, guides=replace(stage.guides, setting_step_mm=own_mm))
    found = one(recommend(small_line(stage), "small", step_mm=25.4 / 32.0))
    assert not found.gauge
    for bracket in found.brackets:
        for face in (bracket.left_mm, 1000.0 - bracket.right_mm):
            assert face / step_mm == pytest.approx(round(face / step_mm), abs=1e-6)


def test_the_rule_does_not_choose_the_lanes() -> None:
    case = small_line(small_stage())
    steps = (None, 0.1, 0.5, 25.4 / 32.0, 25.4 / 16.0, 3.0)
    lines = [replace(case, rule_step_mm=step) for step in steps]
    assert {recommend(line, "small").lanes for line in lines} == {13}
    assert (
        recommend(lines[3], "small").stages == recommend(case, "small", step_mm=25.4 / 32.0).stages
    )


def test_a_setting_on_record_is_taken_judged_and_said() -> None:
    for left, safe in ((199.3, True), (194.0, False)):
        known = tuple(Bracket(x, left, 1000.0 - left) for x in (0.0, 2000.0))
        stage = replace(small_stage(), settings=(KnownSetting("small", known),))
        found = recommend(small_line(stage), "small")
        part = one(found)
        assert (part.brackets, part.source, part.safe) == (known, "record", safe)
        assert part.prevents == ("" if safe else "it stands outside the guide window")
        assert ("on record" in found.reason) == safe


def test_one_lane_count_through_all_stages_in_line() -> None:
    # 570 mm alone is nearer to 12 lanes, 590 mm to 13
    first, second = small_stage("a", left=215.0, right=785.0), small_stage("b")
    assert one(recommend(small_line(first), "small")).lanes == 12
    found = recommend(small_line(first, second), "small")
    assert [part.lanes for part in found.stages] == [13, 13]
    # of two stages apart, 13 lanes in the first leave the second no choice but by its travel
    narrow = replace(second, guides=replace(second.guides, travel_mm=(215.0, 225.0)))
    found = recommend(small_line(first, narrow), "small")
    assert [part.lanes for part in found.stages] == [12, 12]


def test_a_taper_moves_as_a_whole() -> None:
    stage = small_stage()
    faces = [(170.0, 830.0), (180.0, 820.0), (190.0, 810.0), (205.0, 795.0)]
    funnel = tuple(Bracket(500.0 * k, a, b) for k, (a, b) in enumerate(faces))
    stage = replace(stage, guides=replace(stage.guides, brackets=funnel, shape="funnel"))
    found = one(recommend(small_line(stage), "small"))
    moves = {b.left_mm - a.left_mm for a, b in zip(funnel, found.brackets, strict=True)}
    assert moves == {199.5 - 205.0}  # what the straight guides of the first test move
    assert found.safe
    assert found.window.low_mm == pytest.approx(pack(13) + 0.5)


def test_the_shift_is_the_one_of_the_headers() -> None:
    wash, rinse = headed(small_stage(), 506.0, 13), headed(small_stage("rinse"), 500.0, 13)
    case = small_line(wash, rinse)
    case = replace(case, stages=tuple(stage.with_clear_width(600.0) for stage in case.stages))
    (line,) = find_shifts(case, sizes=["small"])
    found = recommend(case, "small")
    assert line.joint is not None
    assert [part.shift_mm for part in found.stages] == [line.joint.shift_for_worst_mm] * 2
    assert found.offset_mm == pytest.approx(line.joint.worst_mm, abs=1e-6)


def test_a_line_that_stands_safe_stays() -> None:
    case = small_line(small_stage(left=199.9, right=801.2))
    found = recommend(case, "small")
    assert (found.stages[0].source, found.stages[0].gauge) == ("stays", False)
    assert found.line.stages == case.stages
    assert found.move_mm == 0.0


def test_a_line_is_as_safe_and_as_far_off_as_its_worst_stage() -> None:
    found = recommend(small_line(small_stage("a"), small_stage("b")), "small")
    first, second = found.stages
    far = {"index": 2.0, "offset_mm": 9.0, "move_mm": 7.0}
    near = {"index": 0.5, "offset_mm": 1.0, "move_mm": 3.0}
    worse = replace(
        found, stages=(replace(first, safe=False, **far), replace(second, safe=True, **near))
    )
    assert (worse.index, worse.offset_mm, worse.move_mm) == (2.0, 9.0, 7.0)
    assert (worse.safe, worse.unsafe) == (False, worse.stages[:1])


def test_a_line_carries_what_its_emptiest_stage_carries() -> None:
    full, half = small_stage("a"), small_stage("b", fill=0.5)
    alone = recommend(small_line(half), "small").cans_per_min[0]
    assert alone == pytest.approx(recommend(small_line(full), "small").cans_per_min[0] / 2.0)
    for stages in ((full, half), (half, full)):
        assert recommend(small_line(*stages), "small").cans_per_min[0] == pytest.approx(alone)


def test_what_cannot_be_is_refused() -> None:
    case = small_line(small_stage())
    with pytest.raises(InputError, match="lanes"):
        recommend(case, "small", lanes=0)
    with pytest.raises(InputError, match="step_mm"):
        recommend(case, "small", step_mm=-1.0)
    with pytest.raises(InputError, match="keep"):
        recommend(case, "small", keep="both")
    with pytest.raises(InputError, match="one of big, small, tall"):
        recommend(case, "huge")


@given(
    st.floats(300.0, 900.0),
    st.floats(450.0, 550.0),
    st.sampled_from([0.0, 0.5, 1.0, 2.0, 25.4 / 32.0]),
    st.sampled_from(["small", "tall", "big"]),
    st.integers(1, 12),
)
def test_a_setting_is_inside_or_says_what_prevents(
    width: float, centre: float, step: float, size: str, lanes: int
) -> None:
    stage = small_stage(left=centre - width / 2.0, right=centre + width / 2.0, setting_step_mm=step)
    case = small_line(stage)
    for found in (recommend(case, size), recommend(case, size, lanes=lanes)):
        part = one(found)
        inside = part.window.holds(part.clear_width_mm)
        assert inside == part.safe
        assert (part.prevents == "") == part.safe
        assert not part.jams
        if step and not part.gauge and part.source != "stays":
            old = (stage.guides.brackets[0].left_mm, stage.guides.brackets[0].right_mm)
            new = (part.brackets[0].left_mm, part.brackets[0].right_mm)
            for now, then, edge in zip(old, new, (0.0, 1000.0), strict=True):
                marks = abs(then - edge) / step
                assert then == now or marks == pytest.approx(round(marks), abs=1e-6)
        # the answers of the line as it shall stand judge it alike
        (answer,) = found.answers
        if answer.pack.lanes == part.lanes:
            assert answer.window.low_mm == pytest.approx(part.window.low_mm)
            assert answer.window.high_mm == pytest.approx(part.window.high_mm)
            assert answer.tipping.loosest.worst == pytest.approx(part.index)


@pytest.mark.slow
def test_the_swing_line_runs_28_lanes_of_the_sleek_body(root: Path) -> None:
    """Neither 27 nor 28 are safe under its strongest sprays; 28 come less near to tipping."""
    found = recommend(load_scenario(root / "scenarios" / "swing_line.toml"), "sleek body")
    assert {part.lanes for part in found.stages} == {28}
    assert found.reason == "28 lanes, not 27: a lower tip index where no setting is safe"
    assert [part.stage.name for part in found.unsafe] == ["pre-wash", "wash", "rinse"]
    for part, answer in zip(found.stages, found.answers, strict=True):
        assert answer.pack.lanes == 28
        assert answer.window.low_mm == pytest.approx(part.window.low_mm)
        assert answer.window.high_mm == pytest.approx(part.window.high_mm)
        assert not part.jams
    assert [other.lanes for other in alternatives(found)] == [27, 29]
    worst = [max(part.index for part in other.stages) for other in (found, *alternatives(found))]
    assert worst[0] < worst[1]
    unsafe = [other.unsafe for other in alternatives(found)]
    assert all(len(stages) >= len(found.unsafe) for stages in unsafe)
