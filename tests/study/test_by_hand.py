"""A small line worked out on paper, every number of the answer from a line or two of arithmetic.

The can: D 60, H 120, centre of gravity at 72, dry. tan α = 30 / 72 = 5/12, so sin α = 5/13 and
cos α = 12/13. Eleven lanes lengthwise need 60 (1 + 10 √3/2) = 579.615 mm; the guides stand at 590
about the middle of a mat 1000 mm wide. Wires at 48 and 96; one bracket, so no sag and no bow.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from packsim.answers import Answer
from packsim.line import Bracket
from packsim.study import study_line

NEED = 60.0 * (1.0 + 10.0 * math.sqrt(3.0) / 2.0)
ALPHA = math.atan(5.0 / 12.0)


@pytest.fixture(scope="module")
def answer(small: SimpleNamespace) -> Answer:
    can = small.can(diameter_tol_mm=0.1)
    stage = small.stage(
        wear_mm=0.25, headers=(small.header(first_mm=236.0, pressure_MPa=0.0),), hold_down_mm=130.0
    )
    return study_line(small.line(stage, cans=(can,))).answers[0]


def test_pack(answer: Answer) -> None:
    assert (answer.pack.lanes, answer.pack.state) == (11, "slack")
    assert answer.pack.pack_width_mm == pytest.approx(579.615, abs=5e-4)
    assert answer.pack.slack_mm == pytest.approx(10.385, abs=5e-4)
    assert answer.pack.cans_per_metre == pytest.approx(11 / 0.060)
    # 11 discs of 30 mm radius in 60 mm of a strip 590 mm wide
    assert answer.pack.density == pytest.approx(11 * math.pi * 900 / (60 * 590))


def test_voids(answer: Answer) -> None:
    assert answer.voids.free_area_fraction == pytest.approx(1 - answer.pack.density)
    # at a guide two cans of a lane, 5.19 mm off the face, and the face: a circle of radius r
    # touches all three where (30 + 5.192 − r)² + 30² = (30 + r)²
    gap = (590.0 - NEED) / 2.0
    r = (30.0 + gap) ** 2 / (2.0 * (60.0 + gap))
    assert (30.0 + gap - r) ** 2 + 900.0 == pytest.approx((30.0 + r) ** 2)
    assert answer.voids.largest_circle_mm == pytest.approx(2.0 * r)


def test_balance_and_safe_slack(answer: Answer) -> None:
    tipping = answer.tipping
    assert tipping.worst.balance_rad == pytest.approx(ALPHA)
    # the higher wire, 96 < 120 × 12/13 = 110.8, governs: 96 × 5/12; inside 120 × 5/13
    assert tipping.safe.edge_mm == pytest.approx(40.0)
    assert tipping.safe.centre_mm == pytest.approx(46.1538, abs=1e-4)
    assert (tipping.safe.governing, tipping.safe.governing_wire_mm) == ("edge", 96.0)


def test_budget_and_index(answer: Answer) -> None:
    # 0.1 mm on each of 579.615/60 = 9.66 diameters; ±1 mm of setting; 2 × 0.25 mm of wear
    assert answer.budget.tightest_mm == pytest.approx(10.3848 - 0.96603 - 1.0, abs=1e-4)
    loosest = 10.38476 + 0.96603 + 1.0 + 0.5
    assert answer.budget.loosest_mm == pytest.approx(loosest, abs=1e-4)
    assert answer.tipping.loosest_slack_mm == pytest.approx(12.8508, abs=1e-4)
    # atan(12.851/96) = 7.6245° and asin(12.851/120) = 6.1477° of 22.6199°
    assert answer.tipping.loosest.edge == pytest.approx(7.6245 / 22.6199, abs=2e-5)
    assert answer.tipping.loosest.centre == pytest.approx(6.1477 / 22.6199, abs=2e-5)
    assert answer.tipping.nominal.edge == pytest.approx(math.atan(10.38476 / 96) / ALPHA, abs=1e-6)
    assert answer.tipping.verdict == "held"


def test_window(answer: Answer) -> None:
    assert answer.window.low_mm == pytest.approx(NEED + 0.96603 + 1.0, abs=1e-4)
    assert answer.window.high_mm == pytest.approx(NEED + 40.0 / 2 - 0.96603 - 1.5, abs=1e-4)
    assert answer.window.high_by == "safe slack"


def test_flow(answer: Answer) -> None:
    # 100 mm/s is 6 m/min: 183.33 cans a metre make 1100 a minute; 3 m take 30 s
    assert answer.flow.cans_per_min == pytest.approx(1100.0)
    assert answer.dwell_s == pytest.approx(30.0)


def test_nozzles(answer: Answer) -> None:
    assert answer.alignment is not None
    # first line: 500 − 295 + 5.192 + 30 = 240.192; lines at 51.9615, nozzles at 52 from 236
    first, last = 240.19238 - 236.0, 240.19238 + 519.61524 - 756.0
    assert answer.alignment.now.worst_mm == pytest.approx(first, abs=1e-5)
    offs = [first + i * (last - first) / 10 for i in range(11)]
    assert answer.alignment.now.rms_mm == pytest.approx(
        math.sqrt(sum(off**2 for off in offs) / 11), abs=1e-5
    )
    assert answer.alignment.best.shift_for_worst_mm == pytest.approx(-(first + last) / 2, abs=1e-5)
    assert answer.alignment.best.worst_mm == pytest.approx((first - last) / 2, abs=1e-5)
    assert answer.alignment.room_mm == (205.0, 205.0)


def test_hold_down(answer: Answer) -> None:
    assert answer.hold_down is not None
    # far top edge at balance: 60 × 5/13 + 120 × 12/13 − 120 = 13.846
    assert answer.hold_down.clearance_mm == pytest.approx(10.0)
    assert answer.hold_down.limit_mm == pytest.approx(180.0 / 13.0)
    assert answer.hold_down.blocks


def test_heat(small: SimpleNamespace) -> None:
    """Aluminium 24e-6, frame 16e-6, 50 K warmer: cans grow 0.6955 mm, the frame 0.472 mm."""
    can = small.can(expansion_per_K=24e-6)
    stage = small.stage(temperature_C=70.0, frame_expansion_per_K=16e-6)
    budget = study_line(small.line(stage, cans=(can,))).answers[0].budget
    grown = -24e-6 * 50 * NEED + 16e-6 * 50 * 590.0
    assert budget.loosest_mm == pytest.approx(590.0 - NEED + grown + 1.0)
    assert budget.tightest_mm == pytest.approx(590.0 - NEED + grown - 1.0)


def test_sag_and_bow_between_brackets(small: SimpleNamespace) -> None:
    """A take-up keeps 600 N. Span 1200 mm, 0.05 kg/m, push 20 N/m shared by two wires."""
    brackets = (Bracket(0.0, 205.0, 795.0), Bracket(1200.0, 205.0, 795.0))
    stage = small.stage(brackets=brackets, anchored=False, pack_pressure_N_per_m=20.0)
    answer = study_line(small.line(stage)).answers[0]
    bow = 10.0 * 1.2**2 / (8.0 * 600.0) * 1000.0  # 3.0 mm a side
    sag = 0.05 * 9.80665 * 1.2**2 / (8.0 * 600.0) * 1000.0  # 0.147 mm
    assert answer.budget.term("bow at mid-span").loosest_mm == pytest.approx(2.0 * bow)
    assert answer.wire_heights_mm == pytest.approx((48.0 - sag, 96.0 - sag))
    assert answer.tipping.safe.edge_mm == pytest.approx((96.0 - sag) * 5.0 / 12.0)


def test_a_taper_is_judged_where_it_is_loosest(small: SimpleNamespace) -> None:
    brackets = (Bracket(0.0, 205.0, 795.0), Bracket(1200.0, 203.0, 797.0))
    stage = small.stage(brackets=brackets, anchored=False, mass_kg_per_m=0.0)
    answer = study_line(small.line(stage)).answers[0]
    assert answer.pack.clear_width_mm == 590.0
    assert answer.budget.loosest_mm == pytest.approx(590.0 - NEED + 4.0 + 1.0)


def test_crosswise(small: SimpleNamespace) -> None:
    """Rows of 9 and 9 need 570 mm and stand 60 √3/2 apart; 20 mm of slack."""
    answer = study_line(small.line(small.stage(layout="crosswise"))).answers[0]
    assert (answer.pack.lanes, answer.pack.state) == (18, "slack")
    assert answer.pack.cans_per_metre == pytest.approx(9.0 / (60.0 * math.sqrt(0.75)) * 1000.0)
    assert answer.budget.slack_mm == pytest.approx(20.0)
    assert answer.tipping.loosest.edge == pytest.approx(math.atan(21.0 / 96.0) / ALPHA)


def test_pool(small: SimpleNamespace) -> None:
    """A full cap of depth 10 and rim 20 holds 6806.8 mm³ of water: 6.807 g on a 10 g can."""
    answer = study_line(small.line(small.stage(water_in_dome=(1.0, 1.0)))).answers[0]
    water = math.pi * 10.0 * (3.0 * 400.0 + 100.0) / 6.0 * 1e-6
    sphere = (400.0 + 100.0) / 20.0
    centre = 110.0 + sphere  # level as the can leans, it acts at the middle of the sphere
    cg = (0.01 * 72.0 + water * centre) / (0.01 + water)
    assert answer.stance.mass_kg == pytest.approx(0.0168068, abs=1e-7)
    assert answer.worst.balance_rad == pytest.approx(math.atan(30.0 / cg))
