"""Neighbours listed for some points are those they have among all, found two by two."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.pack.neighbours import kinds, neighbour_lists


@given(
    seed=st.integers(0, 10_000),
    count=st.integers(1, 30),
    period=st.sampled_from([None, 60.0, 250.0]),
    cutoff=st.floats(5.0, 150.0),
    share=st.sampled_from([0.0, 0.3, 1.0]),
)
def test_every_neighbour_of_those_asked_is_listed(
    seed: int, count: int, period: float | None, cutoff: float, share: float
) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(-40.0, 260.0, (count, 2))
    asked = rng.random(count) < share
    indptr, indices, x, y = neighbour_lists(points, cutoff, period, asked)
    shifts = [0.0] if period is None else [k * period for k in range(-9, 10)]
    for i in range(count):
        want = [
            (j, *(points[j] + (shift, 0.0) - points[i]))
            for j in range(count)
            for shift in shifts
            if asked[i] and (i, 0.0) != (j, shift)
        ]
        want = sorted((j, round(a, 6), round(b, 6)) for j, a, b in want if np.hypot(a, b) <= cutoff)
        own = slice(indptr[i], indptr[i + 1])
        got = zip(indices[own].tolist(), x[own].round(6), y[own].round(6), strict=True)
        assert sorted(got) == want


def test_without_points_or_without_a_number_there_is_nothing_to_list() -> None:
    indptr, indices, x, y = neighbour_lists(np.empty((0, 2)), 5.0)
    assert (indptr.tolist(), indices.size, x.size, y.size) == ([0], 0, 0, 0)
    with pytest.raises(InputError, match="finite"):
        neighbour_lists(np.array([[0.0, np.nan]]), 5.0)
    for cutoff, period in ((0.0, 10.0), (5.0, 0.0)):
        with pytest.raises(InputError):
            neighbour_lists(np.zeros((1, 2)), cutoff, period)


def test_kinds_are_numbered_as_they_come() -> None:
    number, first = kinds(["b", "a", "b", "c", "a"])
    assert (number.tolist(), first.tolist()) == ([0, 1, 0, 2, 1], [0, 1, 3])
