"""What neighbours hide of a wall, against closed forms and a brute walk round the can."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.pack.state import Pack
from packsim.spray.exposure import exposed_share, hidden_half_angle_rad

D = 66.0


def pack(centres: NDArray[np.float64], length: float) -> Pack:
    return Pack(centres, D, 1000.0, length, "lengthwise", "slack", 3, 900.0)


def hexagonal(lanes: int, spread: float = 1.0) -> Pack:
    k = np.arange(lanes)
    x = np.concatenate([np.mod(k, 2) * D / 2, np.mod(k, 2) * D / 2 + D])
    y = np.tile(D / 2 + k * D * SIN60, 2)
    return pack(spread * np.column_stack([x, y]), spread * 2 * D)


def test_gap_at_the_edge_of_the_hidden_arc() -> None:
    half = float(hidden_half_angle_rad(D, D + 0.7, 2.0))
    assert D + 0.7 - D * math.cos(half) == pytest.approx(2.0)


def test_perfect_pack_has_six_arcs_inside_and_four_at_a_guide() -> None:
    share = exposed_share(hexagonal(5), 2.0)
    arc = 2 * math.acos((D - 2.0) / D) / (2 * math.pi)
    assert share[[1, 2, 3]] == pytest.approx(1 - 6 * arc)
    assert share[[0, 4]] == pytest.approx(1 - 4 * arc)


def test_a_loose_pack_hides_less_and_a_wide_one_nothing() -> None:
    tight, loose, wide = (exposed_share(hexagonal(5, s), 2.0)[2] for s in (1.0, 1.01, 1.1))
    assert tight < loose < wide == 1.0


def test_arcs_that_overlap_count_once() -> None:
    """With a gap of D/2 to reach, half angles are 60°: six arcs cover everything."""
    assert exposed_share(hexagonal(5), D / 2)[2] == pytest.approx(0.0, abs=1e-12)
    # two contacts 60° apart, arcs of 120° each: their union is 180°
    two = np.array([[300.0, 300.0], [300.0 + D, 300.0], [300.0 + D / 2, 300.0 + D * SIN60]])
    assert exposed_share(pack(two, 5000.0), D / 2) == pytest.approx([0.5, 0.5, 0.5])


@settings(max_examples=min(30, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(0.5, 25.0))
def test_against_a_walk_round_every_can(seed: int, gap: float) -> None:
    rng = np.random.default_rng(seed)
    base = hexagonal(4, 1.06)
    moved = base.centres_mm + rng.uniform(-1.5, 1.5, base.centres_mm.shape)
    moved[:, 0] = np.mod(moved[:, 0], base.length_mm)
    share = exposed_share(pack(moved, base.length_mm), gap)
    theta = (np.arange(7200) + 0.5) * 2 * math.pi / 7200
    for i, centre in enumerate(moved):
        hidden = np.zeros(7200, dtype=bool)
        for shift in (-base.length_mm, 0.0, base.length_mm):
            for j, other in enumerate(moved):
                step = other + np.array([shift, 0.0]) - centre
                if i == j and shift == 0.0:
                    continue
                distance, way = math.hypot(*step), math.atan2(step[1], step[0])
                apart = distance - D * np.cos(theta - way)
                hidden |= (apart <= gap) & (np.cos(theta - way) > 0)
        assert share[i] == pytest.approx(1 - np.mean(hidden), abs=3e-3)


def test_a_can_alone_is_all_exposed_and_no_pack_has_no_shares() -> None:
    assert exposed_share(pack(np.array([[10.0, 40.0]]), 500.0)).tolist() == [1.0]
    empty = Pack(np.empty((0, 2)), D, 50.0, D, "lengthwise", "does not fit", 0, 66.0)
    assert exposed_share(empty).shape == (0,)
    with pytest.raises(InputError):
        exposed_share(hexagonal(3), -1.0)


def test_a_lane_of_one_can_a_period_touches_itself() -> None:
    share = exposed_share(pack(np.array([[0.0, 40.0]]), D), 2.0)
    assert share == pytest.approx([1 - 2 * math.acos((D - 2) / D) / math.pi])
