"""Gaps measured with an error: densities against quadrature, slopes against differences."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, norm

from packsim.look.photo.gap_shapes import CLASSES, _shape, likely

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
