from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from packsim.errors import InputError
from packsim.pack.neighbours import neighbour_lists
from packsim.pack.state import pack_between
from tests.oracles.contacts import contacts
from tests.oracles.pairs import neighbour_pairs

D = 66.0


def by_brute_force(
    points: np.ndarray, cutoff: float, period: float
) -> list[tuple[int, int, float, float]]:
    """Each point with every image of every other, from all images within reach."""
    found = []
    reach = math.ceil(cutoff / period) + 1
    for i in range(len(points)):
        for j in range(len(points)):
            for k in range(-reach, reach + 1):
                v = points[j] + (k * period, 0.0) - points[i]
                if (i != j or k != 0) and math.hypot(*v) <= cutoff:
                    found.append((i, j, round(v[0], 6), round(v[1], 6)))
    return sorted(found)


@given(
    seed=st.integers(0, 10_000),
    count=st.integers(0, 40),
    period=st.floats(0.3, 12.0),
    cutoff=st.floats(0.1, 4.0),
)
def test_periodic_lists_are_complete(seed: int, count: int, period: float, cutoff: float) -> None:
    rng = np.random.default_rng(seed)
    points = np.column_stack((rng.uniform(0, period, count), rng.uniform(-3.0, 3.0, count)))
    indptr, indices, x, y = neighbour_lists(points, cutoff, period)
    owner = np.repeat(np.arange(count), np.diff(indptr))
    got = sorted(
        (int(i), int(j), round(dx, 6), round(dy, 6))
        for i, j, dx, dy in zip(owner, indices, x, y, strict=True)
    )
    on_the_edge = by_brute_force(points, cutoff * (1 + 1e-9), period)
    want = by_brute_force(points, cutoff * (1 - 1e-9), period)
    assume(len(want) == len(on_the_edge))
    assert len(got) == len(want)
    np.testing.assert_allclose(np.array(got), np.array(want), atol=2e-6)


@given(seed=st.integers(0, 10_000), count=st.integers(2, 400), cutoff=st.floats(0.01, 3.0))
def test_plain_pairs_are_those_of_a_tree(seed: int, count: int, cutoff: float) -> None:
    points = np.random.default_rng(seed).normal(size=(count, 2)) * (4.0, 1.0)
    pairs, vectors = neighbour_pairs(points, cutoff)
    want = cKDTree(points).query_pairs(cutoff)
    assert {(int(i), int(j)) for i, j in pairs} == want
    assert len(pairs) == len(want)
    np.testing.assert_allclose(vectors, points[pairs[:, 1]] - points[pairs[:, 0]])


def test_cells_far_apart_need_no_room() -> None:
    points = np.array([[0.0, 0.0], [1e9, 1e3], [1e9 + 0.5, 1e3]])
    pairs, _ = neighbour_pairs(points, 1.0)
    assert pairs.tolist() == [[1, 2]]


def test_a_can_outside_the_period_is_wrapped_into_it() -> None:
    pairs, vectors = neighbour_pairs(np.array([[-0.25, 0.0], [10.5, 0.0]]), 1.0, 10.0)
    assert pairs.tolist() == [[0, 1]]
    np.testing.assert_allclose(vectors, [[0.75, 0.0]])


def test_six_neighbours_in_the_hexagonal_pack_P23(published) -> None:
    pack = pack_between(D * (1 + 9 * math.sqrt(3.0) / 2), D)
    found = contacts(pack)
    edge = np.union1d(found.left, found.right)
    inside = np.setdiff1d(np.arange(len(pack)), edge)
    assert len(inside) == 0.8 * len(pack)
    assert all(published["P23"].agrees(n) for n in found.per_can[inside])
    assert (found.per_can[edge] == 4).all()


def test_one_lane_in_one_period_touches_itself_on_both_sides() -> None:
    found = contacts(pack_between(D, D, length_mm=D))
    assert found.pairs.tolist() == [[0, 0]]
    assert found.per_can.tolist() == [2]
    assert found.left.tolist() == found.right.tolist() == [0]


@pytest.mark.parametrize(
    ("layout", "state", "inside"),
    [("lengthwise", "strained", 4), ("crosswise", "strained", 4), ("lengthwise", "blocks", 6)],
)
def test_contacts_of_the_tight_states(layout: str, state: str, inside: int) -> None:
    pack = pack_between(1130.0, D, layout, state=state)
    found = contacts(pack)
    assert np.bincount(found.per_can).argmax() == inside
    assert len(found.left) > 0
    assert len(found.right) > 0
    np.testing.assert_allclose(np.hypot(*found.vectors_mm.T), D, rtol=1e-9)


def test_blocks_touch_across_the_crack() -> None:
    """Each end of a triangle's row of n - j cans meets one can of the next triangle."""
    pack = pack_between(1130.0, D, state="blocks", length_mm=1.0)
    lanes = pack.lanes // 2
    inside_one = 3 * lanes * (lanes - 1) // 2
    assert len(contacts(pack).pairs) == 2 * inside_one + 2 * lanes


def test_fill_opens_contacts() -> None:
    assert len(contacts(pack_between(1130.0, D, fill=0.97)).pairs) == 0


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="cutoff_mm"):
        neighbour_pairs(np.zeros((2, 2)), 0.0)
    with pytest.raises(InputError, match="period_mm"):
        neighbour_pairs(np.zeros((2, 2)), 1.0, -1.0)
    with pytest.raises(InputError, match="not finite"):
        neighbour_pairs(np.array([[0.0, math.nan]]), 1.0)
