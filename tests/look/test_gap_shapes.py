"""Gaps measured with an error: densities against quadrature, slopes, where distances begin."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, norm

from packsim.look.photo.gap_shapes import CLASSES, _shape, likely
from packsim.look.photo.lower_edges import _lower_edge, by_lower_edges, neighbours
from packsim.look.photo.rectify import view_of

ERROR = 0.2


@pytest.mark.parametrize("shape", [(1, 0.4), (1, 6.0), (3, 1.0), (3, 8.0)])
@pytest.mark.parametrize("off", [-0.3, 0.0, 0.5, 3.0, 9.0])
def test_a_shape_is_the_gamma_density_smeared_by_the_error(
    shape: tuple[int, float], off: float
) -> None:
    k, mean = shape
    expected = quad(
        lambda gap: gamma.pdf(gap, k, scale=mean / k) * norm.pdf(off - gap, scale=ERROR),
        max(0.0, off - 9.0 * ERROR),
        max(0.0, off) + 9.0 * ERROR,
        limit=200,
    )[0]
    assert _shape(np.array([off]), ERROR, shape)[0, 0] == pytest.approx(expected, rel=1e-6)


def test_slopes_are_those_of_the_likelihood() -> None:
    rng = np.random.default_rng(3)
    off = rng.gamma(3.0, 0.5, 60) + rng.normal(0.0, ERROR, 60)
    off[0] = -5.0  # of no pair
    kind = np.arange(60) % CLASSES
    found, step = likely(off, kind, ERROR), 1e-4
    by_error = [likely(off, kind, ERROR * np.exp(s)).log for s in (-step, step)]
    assert found.by_error == pytest.approx((by_error[1] - by_error[0]) / (2.0 * step), rel=0.02)
    for i in (0, 7, 30):
        moved = [likely(off + s * (np.arange(60) == i), kind, ERROR).log for s in (-step, step)]
        expected = (moved[1] - moved[0]) / (2.0 * step)
        assert found.by_off[i] == pytest.approx(expected, rel=0.02, abs=2e-3)


def test_where_gaps_begin_is_found_to_a_fifth_of_their_mean_whatever_their_spread() -> None:
    rng = np.random.default_rng(8)
    shifts = np.linspace(-1.0, 1.0, 81)
    for gaps in (rng.exponential(2.0, 300), rng.gamma(2.0, 1.0, 300), np.zeros(300)):
        off = gaps + rng.normal(0.0, ERROR, 300)
        logs = [likely(off - shift, np.zeros(300, dtype=np.int64), ERROR).log for shift in shifts]
        assert abs(shifts[int(np.argmax(logs))]) < 0.2 * gaps.mean() + 0.05


SIZE_PX = (1200, 900)
REACH_PX = float(np.hypot(*SIZE_PX)) / 2.0


def lattice_px(numbers: tuple[float, float, float], diameter: float, turn_rad: float) -> np.ndarray:
    """Cans that touch, in a picture whose view is flat: a, b, c, and no other number."""
    i, j = (each.ravel() for each in np.mgrid[-5:6, -5:6])
    along = diameter * np.column_stack((i + j / 2.0, np.sqrt(3.0) / 2.0 * j))
    turned = np.array([[np.cos(turn_rad), -np.sin(turn_rad)], [np.sin(turn_rad), np.cos(turn_rad)]])
    a, b, c = numbers
    off = np.linalg.solve(np.array([[a, b], [0.0, c]]), turned @ along.T).T
    return off * REACH_PX + (np.array(SIZE_PX) - 1.0) / 2.0


@pytest.mark.parametrize("turn_rad", [0.0, 0.9])
@pytest.mark.parametrize("off", [(0.97, 0.0, 1.05), (1.02, 0.04, 0.96), (1.0, -0.05, 1.0)])
def test_a_view_is_set_right_by_cans_that_touch(
    turn_rad: float, off: tuple[float, float, float]
) -> None:
    """Whatever scale and flattening it begins with: neighbours are a diameter apart all round."""
    at = lattice_px((700.0, 30.0, 650.0), 66.0, turn_rad)
    wrong = np.array([700.0 * off[0], 30.0 + 700.0 * off[1], 650.0 * off[2], 0.0, 0.0, 0.0])

    def apart_mm(numbers: np.ndarray) -> np.ndarray:
        plane = view_of(numbers, SIZE_PX).to_mm(at)
        pairs, kind, _ = neighbours(plane)
        length = np.hypot(*(plane[pairs[:, 1]] - plane[pairs[:, 0]]).T)
        return np.array([np.median(length[kind == c]) for c in range(CLASSES)])

    assert np.abs(apart_mm(wrong) - 66.0).max() > 1.0
    found = by_lower_edges(wrong, SIZE_PX, at, 66.0)
    assert apart_mm(found) == pytest.approx([66.0] * 3, abs=0.35)


def test_a_lower_edge_is_where_distances_begin_whatever_share_of_pairs_touch() -> None:
    rng = np.random.default_rng(4)
    for share, mean in ((0.9, 1.0), (0.3, 0.5), (0.05, 2.0)):
        gaps = np.where(rng.random(400) < share, 0.0, rng.exponential(mean, 400))
        found = _lower_edge(66.0 + gaps + rng.normal(0.0, ERROR, 400), ERROR)
        assert found == pytest.approx(66.0, abs=ERROR)
