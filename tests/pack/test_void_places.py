"""The rules by which a void is a crack, on voids drawn by hand and at random."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.pack.void_places import SLIT, _chained, linked, places


@pytest.mark.parametrize(
    ("count", "times", "place"),
    [(6, 1.01, "crack"), (6, 0.99, "interior"), (5, 1.01, "interior"), (30, 1.01, "crack")],
)
def test_a_void_of_six_faces_that_is_long_is_a_crack(count: int, times: float, place: str) -> None:
    faces = SimpleNamespace(
        guide=np.zeros(count, int),
        opening_mm=np.full((count, 3), 2.0),
        twins=lambda: np.arange(6).reshape(3, 2),
    )
    area, circle = np.array([times * SLIT * math.pi / 4.0 * 25.0]), np.array([5.0])
    assert places(faces, np.zeros(count, int), 1, area, circle, 1.0).tolist() == [place]  # type: ignore[arg-type]


@given(
    near=st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=1, max_size=24),
    inside=st.lists(st.booleans(), min_size=9, max_size=9),
    packed=st.lists(st.booleans(), min_size=9, max_size=9),
)
@settings(max_examples=300)
def test_chains_are_those_of_the_rule(
    near: list[tuple[int, int]], inside: list[bool], packed: list[bool]
) -> None:
    """Two or more voids inside, each next to two others at most, and all beside packed cans."""
    here = np.array(inside)
    flanks = np.array(packed) & ~here
    pairs = {frozenset(pair) for pair in near if pair[0] != pair[1]}
    beside = {i: {j for pair in pairs if i in pair for j in pair - {i}} for i in range(9)}

    def chain(start: int) -> set[int]:
        known, new = {start}, {start}
        while new:
            new = {j for i in new for j in beside[i] if here[j]} - known
            known |= new
        return known

    want = [
        bool(here[i])
        and len(chain(i)) >= 2
        and all(
            len([k for k in beside[j] if here[k]]) <= 2 and any(flanks[k] for k in beside[j])
            for j in chain(i)
        )
        for i in range(9)
    ]
    assert _chained(np.array(near), here, flanks, 9).tolist() == want


@given(st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)), min_size=1, max_size=14))
def test_groups_are_those_that_links_join(links: list[tuple[int, int]]) -> None:
    count, group = linked(12, np.array(links))
    assert sorted(set(group.tolist())) == list(range(count))
    joined = [{i} for i in range(12)]
    for a, b in links:
        both = joined[a] | joined[b]
        for i in both:
            joined[i] = both
    assert [{j for j in range(12) if group[j] == group[i]} for i in range(12)] == joined
