from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from packsim.can import Can, Stance
from packsim.errors import InputError
from packsim.tipping.gathered_slack import overhang_mm
from packsim.tipping.safe_slack import centre_slack_mm, edge_slack_mm, safe_slack, tip_index
from packsim.tipping.stops import NOTHING_HOLDS_RAD, wire_lean_rad

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
BODY = Can("demo", 66.09, 124.3, 0.0102, 74.2, 10.0, 23.0)
WIRES = (45.0, 90.0)

stances = st.builds(
    lambda d, slim, cg: Stance(d, d * slim, 0.01, d * slim * cg),
    st.floats(40.0, 90.0),
    st.floats(1.1, 3.0),
    st.floats(0.35, 0.85),
)
wire_sets = st.lists(st.floats(5.0, 260.0), min_size=1, max_size=4).map(sorted)


def stops_at_rad(gap: float, z: float, height: float) -> float:
    """Lean that stops the can on one wire, by turning its wall a little at a time."""
    for lean in np.linspace(0.0, math.pi / 2 - 1e-6, 20_001):
        at_wire = z / math.cos(lean)  # how far along the wall the wire's height is
        if at_wire > height:
            return NOTHING_HOLDS_RAD
        if at_wire * math.sin(lean) >= gap:
            return float(lean)
    return NOTHING_HOLDS_RAD


def test_balance_of_published_blocks(published: dict[str, Any]) -> None:
    # R01, R02: a block of half sides b and h balances at atan(b / h); R11: it tips at a/g = b/h
    for row, b, h in (("R01", 5.0, 7.5), ("R02", 0.5, 1.0)):
        block = Stance(2.0 * b, 2.0 * h, 1.0, h)
        assert published[row].agrees(math.degrees(block.balance_angle_rad))
    b, h = published["R11"].inputs["b"], published["R11"].inputs["h"]
    assert published["R11"].agrees(math.tan(Stance(2.0 * b, 2.0 * h, 1.0, h).balance_angle_rad))


@pytest.mark.parametrize("gap", [0.0, 3.0, 20.0, 60.0, 84.0, 87.0, 100.0, 130.0])
@pytest.mark.parametrize("z", [10.0, 45.0, 90.0, 120.0, 140.0])
def test_wire_lean_is_that_of_the_turning_wall(gap: float, z: float) -> None:
    got = float(wire_lean_rad(gap, [z], 124.3))
    assert got == pytest.approx(stops_at_rad(gap, z, 124.3), abs=2e-4)


def test_highest_touching_wire_governs() -> None:
    gaps = np.linspace(0.0, 130.0, 400)
    both = wire_lean_rad(gaps, WIRES, 124.3)
    each = np.minimum(wire_lean_rad(gaps, [45.0], 124.3), wire_lean_rad(gaps, [90.0], 124.3))
    assert np.array_equal(both, each)
    touching_top = gaps**2 + 90.0**2 < 124.3**2
    np.testing.assert_allclose(both[touching_top], np.arctan(gaps[touching_top] / 90.0), rtol=1e-14)


def test_leaning_off_the_normal_reaches_the_wire_later_and_along_it_never() -> None:
    off = np.cos(np.radians([0.0, 30.0, 60.0, 90.0, 120.0, 180.0]))
    lean = wire_lean_rad(10.0, WIRES, 124.3, off)
    assert np.all(np.diff(lean[:4]) > 0.0)
    assert np.all(lean[3:] == NOTHING_HOLDS_RAD)


def tilted_reach_mm(lean: float, off: float, z: float) -> float:
    """Reach of the tilted cylinder towards a wire at height z, from its ring at that height."""
    radius = CAN.radius_mm
    axis = z * math.tan(lean) + radius - radius / math.cos(lean)
    half = math.hypot(radius / math.cos(lean) * math.cos(off), radius * math.sin(off))
    return axis * math.cos(off) + half - radius


@pytest.mark.parametrize("off_deg", [0.0, 20.0, 45.0, 60.0])
@pytest.mark.parametrize("lean", [0.05, 0.15, 0.3])
def test_flat_wire_rule_against_the_tilted_cylinder(off_deg: float, lean: float) -> None:
    off = math.radians(off_deg)
    gap = tilted_reach_mm(lean, off, 90.0)
    flat = float(wire_lean_rad(gap, [90.0], 124.3, math.cos(off)))
    late = CAN.radius_mm * lean * (1.0 - math.cos(off)) / (2.0 * 90.0)
    assert flat == pytest.approx(lean * (1.0 - late), rel=0.004)


def test_edge_limit_is_where_the_worst_lean_reaches_balance() -> None:
    alpha = CAN.balance_angle_rad
    for wires in ([90.0], [45.0, 90.0], [30.0, 60.0], [118.0], [20.0, 121.0], [60.0, 123.5]):
        limit, wire = edge_slack_mm(124.3, alpha, wires)
        assert wire in wires
        assert float(wire_lean_rad(limit * (1 - 1e-9), wires, 124.3)) < alpha
        assert float(wire_lean_rad(limit * (1 + 1e-9), wires, 124.3)) >= alpha * (1 - 1e-8)


def test_a_wire_near_the_shoulder_is_lost_early() -> None:
    # a wire at 123.5 is passed by the shoulder at sqrt(H² - z²) = 14.1 mm
    limit, wire = edge_slack_mm(124.3, CAN.balance_angle_rad, [123.5])
    assert limit == pytest.approx(math.sqrt(124.3**2 - 123.5**2), rel=1e-12)
    assert edge_slack_mm(124.3, CAN.balance_angle_rad, [60.0, 123.5])[1] == 60.0
    assert wire == 123.5
    limit, wire = edge_slack_mm(124.3, CAN.balance_angle_rad, [124.3, 150.0])
    assert limit == 0.0
    assert np.isnan(wire)


@given(stances, wire_sets)
def test_safe_slack_is_the_first_slack_with_index_one(stance: Stance, wires: list[float]) -> None:
    safe = safe_slack(stance, wires)
    assert safe.slack_mm == min(safe.edge_mm, safe.centre_mm)
    assert tip_index(safe.slack_mm + 1e-6, stance, wires).worst >= 1.0
    if safe.slack_mm > 1e-3:
        assert tip_index(safe.slack_mm * (1.0 - 1e-6), stance, wires).worst < 1.0


@given(stances, wire_sets, st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_index_grows_with_slack(stance: Stance, wires: list[float], a: float, b: float) -> None:
    low, high = (tip_index(s, stance, wires) for s in sorted((a, b)))
    assert low.edge <= high.edge
    assert low.centre <= high.centre
    order = ["held", "loose", "can tip"]
    assert order.index(low.verdict) <= order.index(high.verdict)


@given(stances, wire_sets, st.floats(0.1, 40.0), st.floats(0.2, 5.0))
def test_scaling_everything_changes_no_angle(
    stance: Stance, wires: list[float], slack: float, by: float
) -> None:
    bigger = Stance(stance.diameter_mm * by, stance.height_mm * by, 0.01, stance.cg_mm * by)
    safe, scaled = safe_slack(stance, wires), safe_slack(bigger, [z * by for z in wires])
    assert scaled.slack_mm == pytest.approx(safe.slack_mm * by, rel=1e-9)
    if abs(slack - safe.slack_mm) > 1e-6:
        one = tip_index(slack, stance, wires)
        other = tip_index(slack * by, bigger, [z * by for z in wires])
        assert other.centre == pytest.approx(one.centre, rel=1e-9)


@given(stances, wire_sets, st.floats(5.0, 260.0))
def test_another_wire_never_hurts(stance: Stance, wires: list[float], extra: float) -> None:
    more = safe_slack(stance, sorted([*wires, extra]))
    assert more.slack_mm >= safe_slack(stance, wires).slack_mm


def chain_slack_mm(edge_lean: float, z: float, stance: Stance) -> float:
    """Slack that two cans at a guide need for the second to balance; solved on its own figure."""
    radius, height = stance.radius_mm, stance.height_mm
    alpha = stance.balance_angle_rad

    def shortfall(between: float) -> float:
        # shoulder of the second can, pivot at -radius - between, against the first one's back wall
        x = -radius - between + height * math.sin(alpha)
        y = height * math.cos(alpha)
        foot = np.array([radius - 2.0 * radius * math.cos(edge_lean), 0.0])
        foot[1] = 2.0 * radius * math.sin(edge_lean)
        wall = foot[0] + (y - foot[1]) * math.tan(edge_lean)
        return x - wall

    return z * math.tan(edge_lean) + brentq(shortfall, -200.0, 200.0)


@given(stances, st.floats(0.15, 0.97))
def test_sharing_slack_with_the_guide_is_no_worse_than_gathering_it(
    stance: Stance, share: float
) -> None:
    z = share * stance.height_mm
    alpha = stance.balance_angle_rad
    if z >= stance.height_mm * math.cos(alpha):
        return  # the shoulder of a leaning edge can may pass such a wire; covered above
    limit = safe_slack(stance, [z]).slack_mm
    worst = min(chain_slack_mm(float(t), z, stance) for t in np.linspace(0.0, alpha, 60))
    assert worst >= limit - 1e-9


def test_overhang_is_never_less_than_the_gap() -> None:
    gaps = np.linspace(0.0, 120.0, 300)
    assert np.all(overhang_mm(gaps, WIRES, 124.3) >= gaps)
    assert float(overhang_mm(125.0, WIRES, 124.3)) == pytest.approx(124.3)


def test_edge_cans_go_first_with_wires_below_the_leaning_shoulder() -> None:
    # common practice, no source: edge cans fall before centre cans
    shoulder = 124.3 * math.cos(CAN.balance_angle_rad)
    for z in (40.0, 70.0, 100.0, shoulder - 0.1):
        assert safe_slack(CAN, [z]).governing == "edge"
    # exactly at it both are alike: z tan α = H sin α
    both = safe_slack(CAN, [shoulder])
    assert both.edge_mm == pytest.approx(both.centre_mm, rel=1e-12)


def test_slimmer_and_taller_cans_tolerate_less_slack() -> None:
    # common practice, no source. Same share of the height for centre of gravity and wire
    def limit(diameter: float, height: float) -> float:
        stance = Stance(diameter, height, 0.01, 0.6 * height)
        return safe_slack(stance, [0.72 * height]).slack_mm / diameter

    assert safe_slack(Stance(53.0, 124.3, 0.01, 74.2), [90.0]).slack_mm < (
        safe_slack(CAN, [90.0]).slack_mm
    )
    # taller, wires left where they are: less balance angle against the same wire
    assert safe_slack(Stance(66.09, 168.0, 0.0125, 100.0), [90.0]).slack_mm < (
        safe_slack(CAN, [90.0]).slack_mm
    )
    # taller with the wire moved up in step: the edge limit keeps to 0.72/0.6 of R exactly
    assert limit(66.09, 168.0) == pytest.approx(limit(66.09, 124.3), rel=1e-12)
    assert limit(66.09, 168.0) == pytest.approx(0.6, rel=1e-12)


def test_blow_off_makes_cans_steadier() -> None:
    # common practice, no source: a dome full of liquid makes a light can less stable
    dry, half, full = (safe_slack(BODY.stance(p), WIRES).slack_mm for p in (0.0, 0.5, 1.0))
    assert dry > half > full


def test_a_load_takes_slack_away_down_to_none() -> None:
    limits = [safe_slack(CAN, WIRES, a).slack_mm for a in (0.4, 0.3, 0.1, 0.0)]
    assert limits == sorted(limits, reverse=True)
    assert limits[-1] == 0.0
    assert tip_index(0.0, CAN, WIRES, 0.0).verdict == "can tip"
    with pytest.raises(InputError, match="balance_rad"):
        safe_slack(CAN, WIRES, -0.1)
    with pytest.raises(InputError, match="balance_rad"):
        safe_slack(CAN, WIRES, math.pi / 2)


def test_no_wire_on_the_can_is_no_support() -> None:
    got = tip_index(0.1, CAN, [130.0])
    assert got.edge == math.inf
    assert got.verdict == "can tip"
    assert safe_slack(CAN, [130.0]).governing_wire_mm is None


def test_centre_limit() -> None:
    assert centre_slack_mm(124.3, math.pi / 6) == pytest.approx(62.15, rel=1e-12)
