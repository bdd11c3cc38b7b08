"""Points sorted into cells: nobody near is missed, nobody is named twice."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.pack.cells import Cells, gather, in_cells, to_nearest


def found(cells: Cells, x: float, y: float, reach: float) -> list[int]:
    around = np.full(200, -1)
    return around[: gather(cells, x, y, reach, around)].tolist()


@given(
    seed=st.integers(0, 10_000),
    count=st.integers(1, 40),
    period=st.sampled_from([0.0, 90.0, 300.0]),
    side=st.floats(5.0, 400.0),
    reach=st.floats(1.0, 400.0),
)
def test_all_within_reach_are_gathered_once(
    seed: int, count: int, period: float, side: float, reach: float
) -> None:
    rng = np.random.default_rng(seed)
    place = rng.uniform(-50.0, 350.0, count) + 1j * rng.uniform(0.0, 200.0, count)
    there = rng.random(count) < 0.8
    cells = in_cells(place, there, side, period)
    assert sorted(cells.order.tolist()) == np.flatnonzero(there).tolist()
    assert cells.columns * cells.rows <= 4 * count + 200
    x, y = rng.uniform(-100.0, 400.0), rng.uniform(-50.0, 250.0)
    names = found(cells, x, y, reach)
    assert len(set(names)) == len(names)
    assert there[names].all()
    shifts = [k * period for k in range(-9, 10)] if period else [0.0]
    away = np.abs(place[:, None] - (x + 1j * y) + np.array(shifts)).min(axis=1)
    assert set(np.flatnonzero(there & (away <= reach))) <= set(names)


def test_few_are_gathered_that_are_far() -> None:
    """With cells as large as the reach none farther off than two cells either way."""
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(30.0), np.arange(20.0)))
    cells = in_cells(10.0 * (x + 1j * y), np.ones(600, bool), 10.0, 0.0)
    away = np.abs((10.0 * (x + 1j * y))[found(cells, 143.0, 96.0, 9.0)] - (143.0 + 96.0j))
    assert 4 <= len(away) <= 16
    assert away.max() < 2 * 20.0


def test_points_that_moved_since_are_found_where_they_are() -> None:
    place = np.array([10.0 + 10.0j, 90.0 + 10.0j])
    cells = in_cells(place, np.ones(2, bool), 10.0, 0.0)
    moved = cells._replace(moved_mm=30.0 + 5.0j, loose_mm=1.0)
    assert found(moved, 40.0, 15.0, 0.5) == [0]
    assert found(moved, 10.0, 10.0, 0.5) == []
    assert found(moved, 120.0, 15.0, 0.5) == [1]


@pytest.mark.parametrize("period", [0.0, 90.0])
def test_nobody_there_is_no_cell_with_anybody(period: float) -> None:
    cells = in_cells(np.array([5.0 + 5.0j]), np.zeros(1, bool), 10.0, period)
    assert (cells.order.size, cells.x_mm, cells.y_mm) == (0, 0.0, 0.0)
    assert found(cells, 5.0, 5.0, 50.0) == []


@given(st.floats(-500.0, 500.0), st.sampled_from([0.0, 70.0, 333.0]))
def test_the_way_to_the_nearest_image(along: float, period: float) -> None:
    way = to_nearest(along, period)
    if period:
        assert abs(way) <= period / 2.0 * (1 + 1e-12)
        assert (along - way) / period == pytest.approx(round((along - way) / period), abs=1e-9)
    else:
        assert way == along
    assert math.isfinite(way)
