"""Bands, and the fewest wires, against exhaustive search and a can tilted point by point."""

from __future__ import annotations

import math
from dataclasses import fields
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.errors import InputError
from packsim.tipping.safe_slack import wire_limit_mm
from packsim.width.wire_heights import (
    Margins,
    WireBand,
    fewest_wires,
    wire_bands,
)

CAN = Stance(66.0, 124.0, 0.0102, 74.0)


def bands_of(pairs):
    return [WireBand(f"size {i}", "lower", a, a + b) for i, (a, b) in enumerate(pairs)]


def fewest_by_search(bands):
    """Every choice among the band tops, smallest first: some optimum uses tops only."""
    tops = sorted({band.high_mm for band in bands})
    for count in range(len(tops) + 1):
        for chosen in combinations(tops, count):
            if all(any(band.holds(z) for z in chosen) for band in bands):
                return count
    raise AssertionError("unreachable")


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 25)), max_size=8))
def test_fewest_wires_against_exhaustive_search(pairs):
    bands = bands_of([(float(a), float(b)) for a, b in pairs])
    plan = fewest_wires(bands)
    assert len(plan.heights_mm) == fewest_by_search(bands)
    assert all(any(band.holds(z) for z in plan.heights_mm) for band in bands)
    for a, b in combinations(plan.forced_by, 2):  # the proof that fewer will not do
        assert a.high_mm < b.low_mm or b.high_mm < a.low_mm
    assert len(plan.forced_by) == len(plan.heights_mm)


def test_plan_says_which_sizes_force_which_wire():
    bands = [
        WireBand("short", "lower", 8.0, 40.0),
        WireBand("tall", "lower", 8.0, 60.0),
        WireBand("short", "upper", 75.0, 105.0),
        WireBand("tall", "upper", 110.0, 150.0),
    ]
    plan = fewest_wires(bands)
    assert plan.heights_mm == (24.0, 105.0, 150.0)  # the middle for feet, the top against tipping
    assert [str(b) for b in plan.forced_by] == [
        "short lower 8.0 to 40.0 mm",
        "short upper 75.0 to 105.0 mm",
        "tall upper 110.0 to 150.0 mm",
    ]
    assert plan.why.startswith("3 wires, because no two of these share a height: short lower")
    assert plan.serves[0] == (bands[0], bands[1])


def test_a_size_no_wire_can_serve_is_said():
    plan = fewest_wires(
        [WireBand("flat", "upper", 80.0, 70.0), WireBand("flat", "lower", 8.0, 30.0)]
    )
    assert [band.size for band in plan.unserved] == ["flat"]
    assert plan.why == "1 wire serves every size. No height at all for flat upper"
    assert fewest_wires([]).heights_mm == ()


def test_bands_follow_the_can():
    upper, lower = wire_bands("a", CAN, Margins(5.0, 8.0, 9.0, 0.25))
    assert (upper.low_mm, lower.low_mm, lower.high_mm) == (79.0, 9.0, 31.0)
    assert upper.high_mm == pytest.approx(124.0 * 74.0 / math.hypot(33.0, 74.0))  # H cos α
    wet, _ = wire_bands("a", Stance(66.0, 124.0, 0.019, 90.0), Margins())
    assert wet.low_mm > upper.low_mm  # a full dome wants its wire higher


def test_balance_top_is_where_the_edge_limit_peaks():
    upper, _ = wire_bands("a", CAN, Margins(0.0, 0.0))
    z = np.linspace(60.0, 123.9, 2000)
    limits = np.array(
        [wire_limit_mm(CAN.height_mm, CAN.balance_angle_rad, float(height)) for height in z]
    )
    assert z[limits.argmax()] == pytest.approx(upper.high_mm, abs=0.04)
    assert limits.max() == pytest.approx(124.0 * math.sin(CAN.balance_angle_rad), abs=0.05)


@pytest.mark.parametrize("z", [20.0, 74.0, 110.0, 113.0, 114.0, 120.0, 123.5])
def test_edge_limit_against_a_can_tilted_step_by_step(z):
    """Tilt the outer wall line about its rim; the can is lost once nothing meets the wire."""
    widest = 0.0
    for lean in np.linspace(0.0, CAN.balance_angle_rad, 4001):
        y, height = 124.0 * math.sin(lean), 124.0 * math.cos(lean)  # the top of the wall
        if height >= z:
            widest = max(widest, float(np.interp(z, [0.0, height], [0.0, y])))
    assert wire_limit_mm(CAN.height_mm, CAN.balance_angle_rad, z) == pytest.approx(widest, abs=0.08)


def test_wire_above_the_can_holds_nothing():
    assert wire_limit_mm(CAN.height_mm, CAN.balance_angle_rad, 124.0) == 0.0
    assert wire_limit_mm(CAN.height_mm, CAN.balance_angle_rad, 300.0) == 0.0


def test_default_margins_confess():
    assert len(Margins().assumed) == 4
    assert "common practice, no source" in str(Margins().assumed[0])
    assert [a.key for a in Margins(4.0, 7.0, 6.0).assumed] == ["wire_margins.low_share"]


def test_impossible_values_are_refused():
    with pytest.raises(InputError, match="upper, lower"):
        WireBand("a", "middle", 1.0, 2.0)


def test_margins_that_nobody_gave_are_assumed_in_their_unit():
    said = {one.key: one.value for one in Margins().assumed}
    assert said.keys() == {f"wire_margins.{field.name}" for field in fields(Margins)}
    for key, value in said.items():
        assert value.endswith(" mm") == key.endswith("_mm")
    assert Margins(low_share=0.31).assumed != Margins().assumed
