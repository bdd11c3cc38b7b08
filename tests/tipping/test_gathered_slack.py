from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from packsim.can import Stance
from packsim.pack.state import pack_between
from packsim.tipping.gathered_slack import gathered_lean, lateral_travel_mm
from packsim.tipping.safe_slack import safe_slack, tip_index
from packsim.tipping.stops import wire_lean_rad

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
D, H, R = CAN.diameter_mm, CAN.height_mm, CAN.radius_mm
WIRES = (45.0, 90.0)
STEP = D * math.sqrt(3.0) / 2.0


def shuffled(
    lanes: int, columns: int, slack: float, seed: int, play: float = 0.0
) -> tuple[NDArray[np.float64], float, float]:
    """Whole lanes moved across by random shares of the slack, cans parted along travel by play."""
    rng = np.random.default_rng(seed)
    lane, column = np.divmod(np.arange(lanes * columns), columns)
    pitch = D + play
    aside = np.sort(rng.uniform(0.0, slack, lanes))
    x = (column + 0.5 * (lane % 2)) * pitch
    return (
        np.column_stack((x, R + lane * STEP + aside[lane])),
        D + (lanes - 1) * STEP + slack,
        columns * pitch,
    )


def scattered(seed: int, n: int = 60) -> NDArray[np.float64]:
    """Cans dropped at random where there is room, in a strip ten diameters wide and long."""
    rng = np.random.default_rng(seed)
    placed: list[NDArray[np.float64]] = []
    while len(placed) < n:
        at = np.array([rng.uniform(0.0, 10.0 * D), rng.uniform(R, 10.0 * D - R)])
        if all(np.hypot(*(at - other)) > D for other in placed):
            placed.append(at)
    return np.array(placed)


def travel_by_shortest_path(centres: NDArray[np.float64], width: float) -> NDArray[np.float64]:
    """Travel to the right of a pack without period, by scipy's shortest paths to the guide."""
    n = len(centres)
    cost = np.zeros((n + 1, n + 1))
    tiny = 1e-9  # csgraph drops zeros; shift every step by a known little
    for i in range(n):
        cost[i, n] = width - centres[i, 1] - R + tiny
        for j in range(n):
            dx, dy = np.abs(centres[j, 0] - centres[i, 0]), centres[j, 1] - centres[i, 1]
            if dy > 0.0 and dx < D:
                cost[i, j] = dy - math.sqrt(D**2 - dx**2) + tiny
    return dijkstra(csr_array(cost).T, indices=n)[:n]


@pytest.mark.parametrize("seed", range(5))
def test_travel_is_the_shortest_path_to_the_guide(seed: int) -> None:
    centres, width = scattered(seed), 10.0 * D
    left, right = lateral_travel_mm(centres, D, left_mm=0.0, right_mm=width)
    np.testing.assert_allclose(right, travel_by_shortest_path(centres, width), atol=1e-6)
    mirrored = np.column_stack((centres[:, 0], width - centres[:, 1]))
    np.testing.assert_allclose(left, travel_by_shortest_path(mirrored, width), atol=1e-6)


@settings(max_examples=min(25, settings().max_examples))
@given(st.integers(0, 10_000))
def test_pushed_cans_do_not_overlap_and_have_no_travel_left(seed: int) -> None:
    centres, width = scattered(seed, 40), 10.0 * D
    _, right = lateral_travel_mm(centres, D, left_mm=0.0, right_mm=width)
    pushed = centres + np.column_stack((np.zeros(len(right)), right))
    apart = np.hypot(*(pushed[:, None] - pushed).transpose(2, 0, 1)) + 10.0 * D * np.eye(len(right))
    assert apart.min() > D * (1.0 - 1e-6)
    assert pushed[:, 1].max() <= width - R + 1e-9
    again = lateral_travel_mm(pushed, D, left_mm=0.0, right_mm=width)[1]
    assert again.max() < 0.1  # a can pushed past the brushing tolerance may gain a last crumb


@pytest.mark.parametrize("slack", [0.0, 3.0, 20.0])
@pytest.mark.parametrize("seed", range(3))
def test_every_chain_of_a_nested_pack_holds_all_the_slack(slack: float, seed: int) -> None:
    centres, width, period = shuffled(7, 6, slack, seed)
    got = gathered_lean(
        centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=WIRES, period_mm=period
    )
    np.testing.assert_allclose(got.slack_mm, slack, atol=1e-6)
    edge = float(wire_lean_rad(slack, WIRES, H))
    # wherever the lanes stood, all of it can gather at either guide, and counts for the tops behind
    for lean in (got.left_rad, got.right_rad, got.worst_rad):
        np.testing.assert_allclose(lean, edge, atol=1e-7)


@settings(max_examples=min(25, settings().max_examples))
@given(st.floats(0.0, 60.0), st.integers(0, 999), st.integers(2, 9))
def test_the_row_bound_holds(slack: float, seed: int, lanes: int) -> None:
    centres, width, period = shuffled(lanes, 3, slack, seed)
    got = gathered_lean(
        centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=WIRES, period_mm=period
    )
    row = tip_index(slack, CAN, WIRES)  # all the slack of a row in one place
    bound = max(row.edge_lean_rad, row.centre_lean_rad)
    assert np.all(got.worst_rad <= bound + 1e-7)


def test_below_safe_slack_no_can_reaches_balance() -> None:
    for wires in (WIRES, (60.0,), (30.0, 100.0)):
        limit = safe_slack(CAN, wires).slack_mm
        for share, tips in ((0.999, False), (1.001, True)):
            centres, width, period = shuffled(6, 4, share * limit, 1)
            got = gathered_lean(
                centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=wires, period_mm=period
            )
            assert (got.index.max() >= 1.0) == tips


def test_parted_along_travel_the_chains_get_shorter_and_the_slack_more() -> None:
    slacks = []
    for play in (0.0, 1.0, 3.0):
        centres, width, period = shuffled(9, 5, 4.0, 2, play)
        left, right = lateral_travel_mm(centres, D, left_mm=0.0, right_mm=width, period_mm=period)
        chain = 8 * math.sqrt(D**2 - ((D + play) / 2.0) ** 2) + D
        np.testing.assert_allclose(left + right, width - chain, rtol=1e-9)
        slacks.append(float((left + right).max()))
    assert slacks[0] == pytest.approx(4.0, abs=1e-6)
    assert slacks[2] > slacks[1] > slacks[0]


def test_short_rows_of_the_crosswise_pack_have_a_diameter_of_slack_once_rows_part() -> None:
    snug = pack_between(9.0 * D, D, "crosswise", 800.0, state="slack")
    assert snug.slack_mm == pytest.approx(0.0, abs=1e-6)
    faces = {"left_mm": 0.0, "right_mm": snug.clear_width_mm}
    held = gathered_lean(
        snug.centres_mm, CAN, **faces, wire_heights_mm=WIRES, period_mm=snug.length_mm
    )
    assert held.slack_mm.max() < 1e-4
    # rows a diameter apart: those one can short now slide from pocket to pocket, past balance
    by = 1.001 / (math.sqrt(3.0) / 2.0)
    parted = snug.centres_mm * [by, 1.0]
    got = gathered_lean(parted, CAN, **faces, wire_heights_mm=WIRES, period_mm=snug.length_mm * by)
    short = got.slack_mm > 1.0
    assert short.any()
    assert not short.all()
    np.testing.assert_allclose(got.slack_mm[short], D, rtol=1e-9)
    assert safe_slack(CAN, WIRES).slack_mm < D
    assert np.all(got.index[short] >= 1.0)
    assert got.index[~short].max() < 1e-3


@settings(max_examples=min(20, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(0.3, 4.0))
def test_mirror_and_scale(seed: int, by: float) -> None:
    centres, width, period = shuffled(5, 4, 11.0, seed, 0.7)
    got = gathered_lean(
        centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=WIRES, period_mm=period
    )
    mirrored = np.column_stack((centres[:, 0], width - centres[:, 1])) * by
    other = gathered_lean(
        mirrored,
        Stance(D * by, H * by, 0.01, 74.2 * by),
        left_mm=0.0,
        right_mm=width * by,
        wire_heights_mm=[z * by for z in WIRES],
        period_mm=period * by,
    )
    np.testing.assert_allclose(other.left_rad, got.right_rad, atol=1e-7)
    np.testing.assert_allclose(other.left_travel_mm, got.right_travel_mm * by, atol=1e-6)
    np.testing.assert_allclose(other.index, got.index, atol=1e-6)


@settings(max_examples=min(20, settings().max_examples))
@given(st.integers(0, 10_000), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
def test_wider_guides_never_gather_less(seed: int, a: float, b: float) -> None:
    centres, width, period = shuffled(5, 4, 5.0, seed)
    snug, wide = (
        gathered_lean(
            centres,
            CAN,
            left_mm=-0.3 * more,
            right_mm=width + 0.7 * more,
            wire_heights_mm=WIRES,
            period_mm=period,
        )
        for more in sorted((a, b))
    )
    assert np.all(wide.slack_mm >= snug.slack_mm - 1e-9)
    assert np.all(wide.worst_rad >= snug.worst_rad - 1e-9)


def test_a_load_that_takes_the_whole_balance_angle() -> None:
    centres, width, period = shuffled(5, 4, 50.0, 0)
    faces = {"left_mm": 0.0, "right_mm": width, "period_mm": period}
    gone = gathered_lean(centres, CAN, wire_heights_mm=WIRES, balance_rad=0.0, **faces)
    assert np.isinf(gone.index).all()


def test_no_wire_is_no_guide_for_the_tops() -> None:
    centres, width, period = shuffled(3, 3, 2.0, 0)
    got = gathered_lean(
        centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=(130.0,), period_mm=period
    )
    assert np.isinf(got.index).all()


@pytest.mark.parametrize("layout", ["lengthwise", "crosswise"])
def test_once_along_travel_answers_for_the_whole_pack(layout: str) -> None:
    pack = pack_between(740.0, D, layout, 500.0, 0.98, state="slack")
    once = pack.once()
    for one, many in zip(
        *(
            lateral_travel_mm(p.centres_mm, D, left_mm=0.0, right_mm=740.0, period_mm=p.length_mm)
            for p in (once, pack)
        ),
        strict=True,
    ):
        np.testing.assert_allclose(np.tile(one, pack.repeats), many, atol=1e-9)


def test_a_can_past_a_guide_travels_nowhere_towards_it() -> None:
    """A guide may bow into a pack: the can stays, it is not pushed back."""
    centres = np.array([[0.0, R - 3.0], [5.0 * D, R + 7.0]])
    left, right = lateral_travel_mm(centres, D, left_mm=0.0, right_mm=D + 4.0)
    assert left.tolist() == [0.0, 7.0]
    assert right.tolist() == [7.0, 0.0]
