"""Gaps measured with an error: densities against quadrature, slopes against differences."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, norm

from packsim.look.photo.contacts import _averaged
from packsim.look.photo.gap_fit import Best
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


class Skew:
    """A fit that is likely as Gumbel's distribution is along one number, as a normal along others.

    Its likeliest place is 0 and bends by 1; its mean is Euler's constant, its variance pi^2 / 6.
    """

    kind = np.zeros(1, dtype=np.int64)

    def drawn_apart(self) -> np.ndarray:
        return np.zeros(CLASSES, dtype=np.bool_)

    def unlikely(self, x: np.ndarray, *_: object) -> float:
        return float(x[2] + np.exp(-x[2]) + 0.5 * (x @ x - x[2] ** 2))


def test_a_likelihood_that_reaches_far_one_way_is_told_by_its_mean_not_by_its_top() -> None:
    best = Best(np.zeros(8), np.eye(8), 0.0, 0.5, np.empty(0))
    told = _averaged(Skew(), best, exactly=True)  # type: ignore[arg-type]
    expected = np.where(np.arange(8) == 2, np.euler_gamma, 0.0)
    assert told.at == pytest.approx(expected, abs=0.2)
    assert told.cov[2, 2] == pytest.approx(math.pi**2 / 6.0, rel=0.25)
    assert np.delete(np.diag(told.cov), 2) == pytest.approx(np.ones(7), rel=0.35)
