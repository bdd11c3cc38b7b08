from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.can import Stance
from packsim.tipping.lean import largest_gaps_rad, own_lean
from tests.oracles.held import locally_held

D = 66.09
CAN = Stance(D, 124.3, 0.0102, 74.2)
FAR = {"left_mm": -1e4, "right_mm": 1e4}


def ring(degrees: list[float], diameter: float = D) -> np.ndarray[Any, np.dtype[np.float64]]:
    """A can in the middle and touching ones at the given bearings."""
    turn = np.radians(degrees)
    others = diameter * np.column_stack((np.cos(turn), np.sin(turn)))
    return np.vstack((np.zeros((1, 2)), others))


def largest_gap_rad(bearings: Any) -> float:
    """Of one can, itself between two others that have bearings of their own."""
    own = np.asarray(bearings, dtype=np.float64)
    owner = np.repeat([1, 0, 2], (own.size, 2, 1))
    gaps = largest_gaps_rad(owner, np.append(own, (0.5, 4.0, 2.0)), 4)
    assert gaps[[0, 2, 3]] == pytest.approx([3.5, 2.0 * math.pi, 2.0 * math.pi])
    return float(gaps[1])


def test_three_contacts_at_a_third_of_a_turn(published: dict[str, Any]) -> None:
    row = published["D03"]
    gap = largest_gap_rad(np.radians(row.inputs["contacts_deg"]))
    assert row.agrees(math.degrees(float(gap)))
    assert locally_held(ring(row.inputs["contacts_deg"]), D, **FAR)[0]


def test_exactly_half_a_turn_is_not_held() -> None:
    # D03, note: contacts at 0, 90, 180 leave a gap of exactly 180
    assert math.degrees(largest_gap_rad(np.radians([0.0, 90.0, 180.0]))) == pytest.approx(180)
    assert not locally_held(ring([0.0, 90.0, 180.0]), D, **FAR)[0]
    assert locally_held(ring([0.0, 90.0, 181.0]), D, **FAR)[0]


def test_none_one_and_two_contacts() -> None:
    assert largest_gaps_rad(np.empty(0, np.int64), np.empty(0), 3).tolist() == [2.0 * math.pi] * 3
    assert largest_gap_rad([]) == 2.0 * math.pi
    assert largest_gap_rad([1.0]) == 2.0 * math.pi
    assert largest_gap_rad([0.0, 1.0]) == pytest.approx(2.0 * math.pi - 1.0)


@given(st.lists(st.floats(-10.0, 10.0), min_size=1, max_size=8), st.floats(-7.0, 7.0))
def test_turning_the_bearings_keeps_the_gap(bearings: list[float], turn: float) -> None:
    plain = largest_gap_rad(bearings)
    assert largest_gap_rad(np.array(bearings) + turn) == pytest.approx(plain, abs=1e-9)
    assert largest_gap_rad(-np.array(bearings)) == pytest.approx(plain, abs=1e-9)
    # brute force: the widest arc that is free of all of them
    probe = np.linspace(0.0, 2.0 * math.pi, 7200, endpoint=False)
    ahead = np.mod(np.array(bearings)[:, None] - probe, 2.0 * math.pi).min(axis=0)
    assert plain == pytest.approx(float(ahead.max()), abs=2e-3)


def test_guides_hold_too() -> None:
    # two lanes: each can has two in its own lane (a half turn), two in the other, and a guide
    x = np.arange(8) * D / 2.0
    y = np.where(np.arange(8) % 2, D / 2.0 + D * math.sqrt(3.0) / 2.0, D / 2.0)
    width = D * (1.0 + math.sqrt(3.0) / 2.0)
    centres = np.column_stack((x, y))
    assert locally_held(centres, D, left_mm=0.0, right_mm=width, period_mm=4.0 * D).all()
    free = locally_held(centres, D, left_mm=0.0, right_mm=width + 0.01, period_mm=4.0 * D)
    assert np.array_equal(free, y < D)
    slack = locally_held(
        centres, D, left_mm=0.0, right_mm=width + 0.01, period_mm=4.0 * D, touch_mm=0.02
    )
    assert slack.all()


@given(st.lists(st.integers(0, 71), min_size=1, max_size=5, unique=True))
def test_held_is_leaning_nowhere(steps: list[int]) -> None:
    kept: list[float] = []
    for step in sorted(steps):  # neighbours that do not overlap each other
        bearing = step * 5.0
        if all(abs((bearing - other + 180.0) % 360.0 - 180.0) >= 60.0 for other in kept):
            kept.append(bearing)
    centres = ring(kept)
    held = bool(locally_held(centres, D, **FAR)[0])
    lean = own_lean(centres, CAN, wire_heights_mm=[90.0], **FAR)
    assert lean.held[0] == held
    assert (lean.worst_rad[0] < 1e-6) == held
