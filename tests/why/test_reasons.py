"""Every term behind an answer adds up to it, and agrees with what others work out their own way."""

from __future__ import annotations

import itertools
import json
import math
from types import SimpleNamespace
from typing import Any

import pytest

from packsim.answers import answer_stage
from packsim.line import Mat
from packsim.report.files.as_json import as_json
from packsim.sweep import knob
from packsim.why import Reasons, reasons

ELEVEN = 60.0 * (1.0 + 10.0 * math.sqrt(0.75))


def sprayed(small: SimpleNamespace, **given: Any) -> Any:
    """Cones above and below at one station, 10 mm off the lanes, and a second header above."""
    first = 500.0 - 260.0 + 10.0
    headers = (
        small.header("above", first_mm=first, pressure_MPa=0.12),
        small.header("below", first_mm=first, pressure_MPa=0.06),
        small.header("above", first_mm=first, pressure_MPa=0.1, station_mm=2000.0),
    )
    plain: dict[str, Any] = {"width_mm": ELEVEN + 6.0, "state": "slack", "headers": headers}
    return small.line(small.stage(**(plain | given)))


def asked(line: Any) -> Reasons:
    return reasons(line, "wash", "can")


def test_the_moments_of_the_headers_balance_the_weight(small: SimpleNamespace) -> None:
    found = asked(sprayed(small))
    spray, stance = found.spray, found.answer.stance
    assert spray is not None
    assert {one.side for one in spray.headers} <= {"above", "below"}
    lean = found.answer.worst.balance_rad
    rights = stance.weight_N * (stance.radius_mm * math.cos(lean) - stance.cg_mm * math.sin(lean))
    assert spray.weight_moment_N_mm == pytest.approx(rights, rel=1e-9)
    tips = math.fsum(one.moment_N_mm for one in spray.headers)
    # the angle is read between the leans looked at
    assert tips == pytest.approx(rights, abs=0.02 * stance.weight_N * stance.radius_mm)
    assert spray.lost_rad == pytest.approx(stance.balance_angle_rad - lean, abs=1e-12)
    assert 0 < spray.lane <= found.answer.pack.lanes


def test_the_best_shift_changes_margin_and_balance(small: SimpleNamespace) -> None:
    """As guides really moved by that much would have it."""
    line = sprayed(small)
    found = asked(line)
    spray = found.spray
    assert spray is not None
    assert spray.best_shift_mm is not None
    assert abs(spray.best_shift_mm) > 1.0
    moved = answer_stage(knob("shift").set(line, 0, spray.best_shift_mm), "wash", "can")
    assert moved.spray is not None
    assert spray.hold_margin_shifted == pytest.approx(
        float(moved.spray.hold_margin.min()), rel=1e-9
    )
    assert spray.balance_angle_shifted_rad == pytest.approx(moved.worst.balance_rad, rel=1e-9)
    assert spray.hold_margin_shifted > spray.hold_margin
    assert spray.balance_angle_shifted_rad > found.answer.worst.balance_rad


def test_the_governing_wire_sets_the_edge_limit(small: SimpleNamespace) -> None:
    found = asked(small.line(small.stage(heights_mm=(20.0, 48.0, 96.0), width_mm=ELEVEN + 6.0)))
    governing = [wire for wire in found.wires.wires if wire.governs]
    assert len(governing) == 1
    safe = found.answer.tipping.safe
    assert governing[0].limit_mm == pytest.approx(safe.edge_mm, rel=1e-12)
    # z tan α with tan α = 30/72 for the dry can
    assert [w.limit_mm for w in found.wires.wires] == pytest.approx(
        [z * 5 / 12 for z in (20, 48, 96)]
    )


def test_fewest_wires_against_trying_every_set(small: SimpleNamespace) -> None:
    cans = (small.can(), small.can("tall", height_mm=170.0, cg_mm=102.0, diameter_mm=58.0))
    found = asked(small.line(small.stage(), cans=cans))
    bands = found.wires.bands
    assert {(b.size, b.use) for b in bands} == set(
        itertools.product(("can", "tall"), ("upper", "lower"))
    )
    ends = sorted({b.high_mm for b in bands})
    need = next(
        k
        for k in range(1, 5)
        if any(
            all(any(b.holds(z) for z in some) for b in bands)
            for some in itertools.combinations(ends, k)
        )
    )
    assert len(found.wires.plan.heights_mm) == need
    for band in bands:
        hung = any(band.holds(w.height_mm) for w in found.wires.wires)
        assert (band not in found.wires.open_bands) == hung


def test_energies(small: SimpleNamespace) -> None:
    """Alone: m g (ρ − h) = m g (78 − 72), by 5-12-13; past z tan α = 40 mm of slack it can."""
    weight = 0.01 * 9.80665
    tight = asked(small.line(small.stage(width_mm=ELEVEN + 6.0, state="slack"))).energies
    assert tight is not None
    assert tight.alone_mJ == pytest.approx(weight * 6.0, rel=1e-9)
    assert math.isinf(tight.edge_mJ)
    assert math.isinf(tight.even_mJ)
    wide = asked(small.line(small.stage(width_mm=ELEVEN + 44.0, state="slack"))).energies
    assert wide is not None
    assert wide.edge_mJ == pytest.approx(weight * 6.0, rel=1e-9)
    assert wide.middle_mJ >= wide.edge_mJ


def test_a_can_that_leans_past_balance_rests_or_slides(small: SimpleNamespace) -> None:
    outcomes = []
    for friction in (0.05, 0.6):
        mat = Mat(1000.0, 100.0, friction=friction)
        stage = small.stage(width_mm=ELEVEN + 49.0, state="slack")
        found = asked(small.line(stage, mat=mat))
        assert found.on_wire is not None
        assert found.on_wire.lean_rad > found.answer.stance.balance_angle_rad
        outcomes.append(found.on_wire.outcome)
    assert outcomes == ["slides out", "rests"]


def test_every_can_is_told(small: SimpleNamespace) -> None:
    found = asked(small.line(small.stage(fill=0.97, width_mm=ELEVEN + 6.0)))
    data = as_json("why", found.scenario, found)
    tipping = found.answer.tipping
    cans = data["leans"]
    assert len(cans["centres_mm"]) == len(found.answer.pack)
    assert max(cans["own"]["index"]) == pytest.approx(tipping.own.index)
    assert max(cans["gathered"]["index"]) == pytest.approx(tipping.gathered.index)
    assert max(cans["gathered"]["slack_mm"]) > 6.0
    assert all(0.0 <= bearing < 360.0 for bearing in cans["own"]["worst_direction_deg"])


@pytest.mark.parametrize(
    "given",
    [
        {"width_mm": 40.0},
        {"heights_mm": (130.0,)},
        {"width_mm": 540.0, "layout": "crosswise", "state": "slack"},
        {"width_mm": 565.0, "layout": "crosswise", "state": "blocks"},
        {"hold_down_mm": 110.0},
        {"water_in_dome": (1.0, 1.0), "fill": 0.5},
    ],
)
def test_odd_stages_give_valid_json(small: SimpleNamespace, given: dict[str, Any]) -> None:
    found = asked(small.line(small.stage(**given)))
    data = as_json("why", found.scenario, found)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert data["schema"] == 2


def test_sprays_too_strong_give_valid_json(small: SimpleNamespace) -> None:
    """Lifted cans have no balance angle left: every index is without end."""
    strong = (small.header("below", first_mm=250.0, pressure_MPa=3.0),)
    found = asked(sprayed(small, headers=strong))
    data = as_json("why", found.scenario, found)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert data["answer"]["balance_angle_deg"] == 0.0
    assert data["answer"]["index_own"] is None
