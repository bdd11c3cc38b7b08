"""The search for the least of the largest of concave curves, on curves with known answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from packsim.constants import PITCH_TOL_MM
from packsim.nozzles.minimax import minimax

Floats = NDArray[np.float64]


def test_two_straight_lines_meet() -> None:
    point, value = minimax(lambda x: np.column_stack([x, 3.0 - 2.0 * x]), np.array([0.0, 3.0]))
    assert (point, value) == pytest.approx((1.0, 1.0), abs=1e-6)


def test_two_arcs_meet_away_from_their_chords() -> None:
    """√x and √(2 − x) cross at 1; each alone is concave."""
    point, value = minimax(
        lambda x: np.column_stack([np.sqrt(x), np.sqrt(2.0 - x)]), np.array([0.0, 2.0])
    )
    assert value == pytest.approx(1.0, abs=PITCH_TOL_MM)
    assert point == pytest.approx(1.0, abs=1e-5)


def test_one_concave_curve_is_least_at_an_edge() -> None:
    def bumps(x: Floats) -> Floats:
        return (np.abs(np.sin(x)) - 0.01 * x)[:, None]

    point, value = minimax(bumps, math.pi * np.arange(4))
    assert (point, value) == pytest.approx((3 * math.pi, -0.03 * math.pi))


def test_the_longest_of_equal_answers_is_taken() -> None:
    def twice(x: Floats) -> Floats:
        return np.abs(np.mod(x, 2.0) - 1.0)[:, None]

    assert minimax(twice, np.arange(0.0, 5.0)) == (3.0, 0.0)


@pytest.mark.parametrize("seed", range(8))
def test_a_bound_on_the_slope_saves_points_and_changes_no_answer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    edges = np.linspace(0.0, 30.0, 1201)
    bumps = np.abs(edges - rng.uniform(5.0, 25.0)) + rng.uniform(0.0, 0.02, (2, edges.size))
    steepest = float(np.max(np.abs(np.diff(bumps) / np.diff(edges))))
    asked = []

    def curves(points: Floats) -> Floats:
        asked.append(len(points))
        return np.column_stack([np.interp(points, edges, bump) for bump in bumps])

    plain, most = minimax(curves, edges), sum(asked)
    asked.clear()
    assert minimax(curves, edges, steepest) == plain
    assert sum(asked) < most / 2
