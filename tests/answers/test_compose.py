"""How the answers about one stage are put together: which side, which wire, which moment."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from packsim.answers import answer_stage, clear_headers, lowest_wires_mm
from packsim.errors import InputError
from packsim.line import Bracket, Nozzle
from packsim.line.guides import Reach
from packsim.report.drawings.drawing import Label
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.scenario import load_scenario

NEED = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))
ALPHA = math.atan(5.0 / 12.0)


def test_wires_sagged_onto_the_mat_hold_nothing(small: SimpleNamespace) -> None:
    """A wire at 2 mm with 3 mm of sag is gone; the one at 96 mm hangs 3 mm lower."""
    # w L² / (8 T): 0.5 kg/m over 1.4 m at 400 N sags 3.003 mm
    brackets = (Bracket(0.0, 205.0, 795.0), Bracket(1400.0, 205.0, 795.0))
    stage = small.stage(
        brackets=brackets,
        heights_mm=(2.0, 96.0),
        mass_kg_per_m=0.5,
        tension_N=400.0,
        anchored=False,
    )
    sag = 0.5 * 9.80665 * 1.4**2 / (8.0 * 400.0) * 1000.0
    assert sag > 2.0
    assert lowest_wires_mm(stage) == pytest.approx((96.0 - sag,))
    assert lowest_wires_mm(small.stage()) == (48.0, 96.0)


@pytest.mark.parametrize(
    ("centre", "travel", "room"),
    [
        (500.0, None, (200.0, 200.0)),
        (450.0, None, (150.0, 250.0)),
        # a face may stand 150 to 220 mm from its mat edge: 50 mm nearer, 20 mm farther
        (500.0, (150.0, 220.0), (20.0, 20.0)),
        (490.0, (150.0, 220.0), (10.0, 30.0)),
        (500.0, (250.0, 300.0), (0.0, 0.0)),
        (100.0, None, (0.0, 600.0)),
    ],
)
def test_room_to_shift(
    small: SimpleNamespace,
    centre: float,
    travel: tuple[float, float] | None,
    room: tuple[float, float],
) -> None:
    stage = small.stage(width_mm=600.0, centre_mm=centre, travel_mm=travel)
    mat_mm = small.line(stage).mat.width_mm
    got = Reach.of(stage.guides, mat_mm).room_mm(600.0, stage.guides.centre_mm)
    assert got == pytest.approx(room)


def test_a_header_in_the_cans_sprays_nothing(small: SimpleNamespace) -> None:
    low, high = small.header(mat_distance_mm=120.0), small.header(mat_distance_mm=120.1)
    below = small.header("below", mat_distance_mm=10.0)
    stage = small.stage(headers=(low, high, below))
    assert clear_headers(stage, 120.0) == (high, below)
    only = small.stage(headers=(low,))
    assert answer_stage(small.line(only), "wash", "can").spray is None


def test_the_worse_side_of_the_nozzles_is_told(small: SimpleNamespace) -> None:
    good, bad = small.header(first_mm=240.0), small.header("below", first_mm=230.0)
    found = answer_stage(small.line(small.stage(headers=(good, bad))), "wash", "can").alignment
    assert found is not None
    assert (found.side, round(found.now.worst_mm, 1)) == ("below", 10.2)
    found = answer_stage(small.line(small.stage(headers=(good,))), "wash", "can").alignment
    assert found is not None
    assert found.side == "above"


def test_sprays_that_lift_leave_no_balance(small: SimpleNamespace) -> None:
    jet = Nozzle("cone", 0.3, 1e5, 0.2)
    stage = small.stage(headers=(small.header("below", pressure_MPa=0.3, nozzle=jet),))
    found = answer_stage(small.line(stage), "wash", "can")
    assert found.spray is not None
    assert bool(found.spray.lifted.any())
    assert found.worst.balance_rad == 0.0
    assert found.worst.at_rest.balance_angle_rad == pytest.approx(ALPHA)
    assert found.tipping.safe.slack_mm == 0.0
    assert math.isinf(found.tipping.loosest.edge)
    assert found.tipping.verdict == "can tip"


def test_only_what_is_asked_is_worked_out(small: SimpleNamespace) -> None:
    stage = small.stage(width_mm=NEED + 3.21, headers=(small.header(),))
    found = answer_stage(small.line(stage), "wash", "can")
    assert found.tipping.loosest.verdict == "held"
    assert not found.window.empty
    assert not vars(found).keys() & {"voids", "alignment", "flow", "_loads", "window_rss"}
    assert not vars(found.tipping).keys() & {"own", "gathered", "verdict", "nominal"}
    assert found.tipping.verdict == "held"  # where the bound holds, each can is looked at
    assert vars(found.tipping).keys() >= {"own", "gathered"}


def test_lines_that_share_a_stage_share_its_answer(small: SimpleNamespace) -> None:
    first, other = small.stage(name="first", width_mm=NEED + 4.0), small.stage(width_mm=NEED + 5.0)
    line = small.line(first, other)
    wider = small.line(first, small.stage(width_mm=NEED + 6.0))
    assert answer_stage(line, "first", "can") is answer_stage(wider, "first", "can")
    assert answer_stage(line, "wash", "can") is not answer_stage(wider, "wash", "can")
    faster = replace(line, mat=replace(line.mat, speed_mm_per_s=2.0 * line.mat.speed_mm_per_s))
    before, after = (answer_stage(one, "first", "can") for one in (line, faster))
    assert after.flow.cans_per_min == pytest.approx(2.0 * before.flow.cans_per_min)


def test_where_sprays_may_not_lift_they_lift_nowhere(small: SimpleNamespace) -> None:
    """Looked for at a few places; the load itself is worked out at four times as many."""
    jet = Nozzle("cone", 0.3, 1e5, 0.2)
    said = []
    for pressure in (0.001, 0.003, 0.01, 0.02, 0.05, 0.1, 0.3):
        header = small.header("below", pressure_MPa=pressure, nozzle=jet)
        found = answer_stage(small.line(small.stage(headers=(header,))), "wash", "can")
        assert found.lightest is not None
        said.append((found.worst.may_lift, bool(found.lightest.lifted.any())))
    assert set(said) >= {(False, False), (True, True)}
    assert (False, True) not in said


def test_a_pack_that_does_not_fit_still_has_every_answer(small: SimpleNamespace) -> None:
    stage = small.stage(width_mm=50.0, headers=(small.header(),), hold_down_mm=125.0)
    found = answer_stage(small.line(stage), "wash", "can")
    assert not found.pack.fits
    assert (found.spray, found.alignment) == (None, None)
    assert found.tipping.verdict == "tight"
    assert found.flow.cans_per_min == 0.0
    assert math.isnan(found.tipping.own.index)  # no can, no index: not 0, which would be safe
    assert found.hold_down is not None
    assert found.window.low_mm == pytest.approx(61.0)


def test_only_a_hold_down_that_blocks_takes_the_edge_off_a_verdict(
    small: SimpleNamespace,
) -> None:
    """Far top edge at balance 133.846 mm high; at or under 120 the mat is in the cans."""
    verdicts = {
        height: answer_stage(
            small.line(small.stage(width_mm=NEED + 45.0, state="slack", hold_down_mm=height)),
            "wash",
            "can",
        ).tipping.verdict
        for height in (None, 119.0, 121.0, 133.8, 133.9)
    }
    assert verdicts == {
        None: "can tip",
        119.0: "can tip",
        121.0: "loose",
        133.8: "loose",
        133.9: "can tip",
    }


def test_an_unknown_size_is_named(small: SimpleNamespace) -> None:
    with pytest.raises(InputError, match="one of can"):
        answer_stage(small.line(small.stage()), "wash", "bottle")


def test_assumptions_name_this_stage_and_its_sprays(small: SimpleNamespace) -> None:
    keys = {
        a.key
        for a in answer_stage(
            small.line(small.stage(headers=(small.header(),))), "wash", "can"
        ).assumed
    }
    assert any(key.startswith("spray.") for key in keys)
    dry = {a.key for a in answer_stage(small.line(small.stage()), "wash", "can").assumed}
    assert not any(key.startswith("spray.") for key in dry)


def test_slack_as_set_is_one_quantity(root: Path) -> None:
    """Clear width less pack width of the lanes judged.

    Oven lane, heat-up: 16 cans of 66.09 mm across in 1066 mm.
    """
    oven = load_scenario(root / "scenarios" / "oven_lane.toml")
    found = answer_stage(oven, oven.stages[0].name, "12 oz")
    by_hand = 1066.0 - 16 * 66.09
    for slack in (found.slack_mm, found.pack.slack_mm, found.budget.slack_mm):
        assert slack == pytest.approx(by_hand)
    assert f"slack {by_hand:.1f} mm" in " ".join(
        part.text for part in plan_drawing(found, oven).primitives if isinstance(part, Label)
    )
