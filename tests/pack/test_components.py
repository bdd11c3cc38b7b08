from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from packsim.pack.void_places import components


@given(seed=st.integers(0, 100_000), count=st.integers(1, 200), share=st.floats(0.0, 1.5))
@settings(max_examples=80, deadline=None)
def test_against_scipy(seed: int, count: int, share: float) -> None:
    links = np.random.default_rng(seed).integers(0, count, (int(share * count), 2))
    number, label = components(count, links)
    graph = coo_array((np.ones(len(links)), links.T), shape=(count, count))
    want_number, want = connected_components(graph, directed=False)
    assert number == want_number
    assert len(np.unique(np.column_stack((label, want)), axis=0)) == number


def test_a_chain_in_any_order_is_one() -> None:
    path = np.random.default_rng(7).permutation(200_000)
    number, label = components(len(path), np.column_stack((path[:-1], path[1:])))
    assert number == 1
    assert not label.any()


def test_nothing_linked() -> None:
    number, label = components(3, np.empty((0, 2), dtype=np.int64))
    assert (number, label.tolist()) == (3, [0, 1, 2])
