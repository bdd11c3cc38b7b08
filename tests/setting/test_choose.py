"""Which stages get one lane count, and where the lanes of a run are shifted to."""

from __future__ import annotations

import importlib
import math
from dataclasses import replace

import pytest

from packsim.line import Header, Nozzle, Scenario, Stage
from packsim.line.guides import Reach
from packsim.setting.choose import _costs, _groups, _line_shift_mm
from packsim.setting.place import Job
from packsim.width.wire_heights import WireBand
from tests.small_line import SMALL, TALL, small_line, small_stage

# the room's front offers the function under the file's name
recommend = importlib.import_module("packsim.setting.recommend")
_bands, _wires = recommend._bands, recommend._wires

PITCH = 52.0 * math.sqrt(3.0) / 2.0


def lanes(*counts: int, middles: tuple[float, ...] = (), layout: str = "lengthwise") -> list[Stage]:
    """Stages 1 mm wider than so many lanes, about the middle of the mat or where told."""
    stages = []
    for i, count in enumerate(counts):
        half = (53.0 + (count - 1) * PITCH) / 2.0
        middle = middles[i] if middles else 500.0
        stages.append(small_stage(f"s{i}", middle - half, middle + half, layout=layout))
    return stages


def groups(*stages: Stage) -> list[list[tuple[int, ...]]]:
    return _groups(small_line(*stages), "small")


def test_stages_in_line_with_as_many_lanes_are_one_run() -> None:
    assert groups(*lanes(12)) == [[(0,)]]
    assert groups(*lanes(12, 12, 12)) == [[(0, 1, 2)]]
    assert groups(*lanes(12, 12, middles=(500.0, 502.0))) == [[(0, 1)]]
    assert groups(*lanes(12, 12, middles=(500.0, 502.1))) == [[(0,), (1,)]]


def test_a_lane_apart_is_a_run_of_its_own_and_two_a_group() -> None:
    assert groups(*lanes(12, 13, 13)) == [[(0,), (1, 2)]]
    assert groups(*lanes(13, 12)) == [[(0,), (1,)]]
    assert groups(*lanes(12, 14, 14, 10)) == [[(0,)], [(1, 2)], [(3,)]]


def test_another_layout_is_a_group_of_its_own() -> None:
    across = replace(lanes(12)[0], name="across", layout="crosswise")
    assert groups(*lanes(12), across) == [[(0,)], [(1,)]]


def job(line: Scenario) -> Job:
    return Job(
        scenario=line,
        old=SMALL,
        new=SMALL,
        step_mm=None,
        keep="rate",
        wires=_wires(line, "small", "small", None),
    )


def with_nozzles(stage: Stage, middle_mm: float, count: int = 12) -> Stage:
    nozzle = Nozzle("cone", math.radians(60.0), 3e4, 0.2)
    first = middle_mm - (count - 1) / 2.0 * PITCH
    return replace(stage, headers=(Header("above", 1000.0, 250.0, first, PITCH, count, 0, nozzle),))


@pytest.mark.parametrize(("middle", "want"), [(509.0, 9.0), (493.0, -7.0), (500.2, 0.0)])
def test_lanes_are_shifted_onto_their_nozzles_where_that_is_worth_it(
    middle: float, want: float
) -> None:
    """Twelve lanes at the pitch of twelve nozzles: the shift is the way between the middles."""
    case = small_line(with_nozzles(lanes(12)[0], middle))
    assert _line_shift_mm(job(case), (0,), 12) == pytest.approx(want, abs=1e-6)


def test_lanes_out_of_reach_come_as_far_as_they_must_and_then_onto_nozzles() -> None:
    """No face nearer than 215 mm to its edge or farther than 240: the middle can be 500 ± 11.3."""
    (stage,) = lanes(11, middles=(480.0,))
    stage = replace(stage, guides=replace(stage.guides, travel_mm=(215.0, 240.0)))
    low = 215.0 + (52.0 + 11 * PITCH) / 2.0
    plain = _line_shift_mm(job(small_line(stage)), (0,), 12)
    aimed = _line_shift_mm(job(small_line(with_nozzles(stage, 500.0))), (0,), 12)
    assert (480.0 + plain, 480.0 + aimed) == pytest.approx((low, 500.0))
    # two stages whose reaches have no middle in common are not shifted together
    right = replace(stage, guides=replace(stage.guides, travel_mm=(0.0, 90.0)), name="far")
    assert _line_shift_mm(job(small_line(stage, right)), (0, 1), 12) == 0.0


def test_the_reach_of_brackets() -> None:
    assert Reach(1000.0, 20.0, 300.0).widths_mm == (400.0, 960.0)
    assert Reach(1000.0, 0.0, 600.0).widths_mm == (0.0, 1000.0)
    assert Reach(1000.0, 20.0, 300.0).centres_mm(500.0) == (450.0, 550.0)
    assert Reach(1000.0, 220.0, 600.0).centres_mm(500.0) == (470.0, 530.0)
    assert Reach(1000.0, 220.0, 600.0).room_mm(500.0, 480.0) == (10.0, 50.0)
    assert Reach(1000.0, 220.0, 600.0).room_mm(500.0, 460.0) == (0.0, 70.0)
    guides = small_stage(left=205.0, right=790.0).guides
    assert Reach(1000.0, 0.0, 300.0).farthest_beyond_mm(guides) == 0.0
    assert Reach(1000.0, 207.0, 300.0).farthest_beyond_mm(guides) == 2.0
    assert Reach(1000.0, 0.0, 203.0).farthest_beyond_mm(guides) == 7.0


def test_stages_on_one_wire_have_a_band_in_common_or_each_its_own(monkeypatch) -> None:  # type: ignore[no-untyped-def]
    def bands(*ends: tuple[float, float]) -> list[WireBand]:
        each = {str(i): (WireBand("tall", "upper", *end),) for i, end in enumerate(ends)}
        monkeypatch.setattr(recommend, "stage_bands", lambda stage, can: each[stage.name])
        return _bands([small_stage(name) for name in each], TALL)

    assert bands((85.0, 132.0), (90.0, 120.0)) == [WireBand("tall", "upper", 90.0, 120.0)]
    assert bands((85.0, 110.0), (90.0, 120.0)) == [WireBand("tall", "upper", 90.0, 110.0)]
    assert bands((85.0, 90.0), (90.0, 120.0)) == [WireBand("tall", "upper", 90.0, 90.0)]
    own = [WireBand("tall", "upper", 85.0, 89.0), WireBand("tall", "upper", 90.0, 120.0)]
    assert bands((85.0, 89.0), (90.0, 120.0), (85.0, 89.0)) == own
    (none,) = bands((85.0, 84.0), (90.0, 120.0))  # in one of them no height will do
    assert none.empty


def test_of_two_unsafe_settings_the_one_a_tenth_less_so_is_better() -> None:
    """A hundredth, 28 lanes at 2.26 instead of 27 at 2.27, once moved every bracket of a line."""
    line = small_line(*lanes(6, 6))
    found = recommend.recommend(line, "small").stages
    job = Job(line, line.size("big"), SMALL, None, "rate", ())
    near, far, farther = (
        _costs(job, [replace(part, safe=False, index=index) for part in found])
        for index in (2.14, 2.26, 2.27)
    )
    assert near < far == farther


def test_what_no_wire_does_is_said() -> None:
    bands = [
        WireBand("small", "upper", 85.0, 110.0),
        WireBand("tall", "upper", 120.0, 130.0),
        WireBand("tall", "lower", 9.0, 8.0),
    ]
    part = recommend._part([(30.0, 40.0), (None, 90.0)], bands, "small", "why")
    assert part.unserved == ("upper wire of tall", "lower wire of tall: no height is right for it")
    assert (part.heights_mm, part.keeps_old, part.why) == ((40.0, 90.0), True, "why")
    assert [move.idle for move in part.moves] == [True, False]
    assert not recommend._part([(30.0, 40.0)], bands, "small", "why").keeps_old
    assert recommend._part([(30.0, 90.0)], bands[:1], "small", "why").unserved == ()
