"""Do the counts look like the model that was fitted to them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.chance.likelihood import CountTable, deviance

_DRAWS = 2000

_FEWEST = 1.0
"""Counts of which fewer tips than this are expected say nothing about how widely counts vary."""


@dataclass(frozen=True, slots=True)
class Quality:
    """How well expected and counted tips agree.

    Parameters
    ----------
    deviance : float
        2 Σ [c ln(c/μ) − (c − μ)], less what the standard errors of the passages explain [-].
    freedom : int
        Counts less fitted values.
    p_value : float or None
        Share of trials simulated from the fit, each fitted again, that agree worse; None where
        nothing is left to test.
    """

    deviance: float
    freedom: int
    p_value: float | None

    @property
    def poor(self) -> bool:
        """Whether so bad an agreement would be seen less than one time in twenty."""
        return self.p_value is not None and self.p_value < 0.05


@dataclass(frozen=True, slots=True)
class Dispersion:
    """How much more counts vary than chance alone lets them.

    Parameters
    ----------
    ratio : float
        Variance over mean, less what the standard errors of the passages explain; 1 for single
        tips that know nothing of each other [-].
    freedom : int
        Counts it rests on, less fitted values; 0 where nothing can be told.
    """

    ratio: float
    freedom: int

    @property
    def factor(self) -> float:
        """Factor on the variance of what a run counts, at least 1 [-]."""
        return max(1.0, self.ratio) if self.freedom else 1.0

    def widening(self, confidence: float) -> float:
        """Factor on the deviance an interval may spend, at least 1 [-].

        The quasi-likelihood factor φ, with F(1, freedom) for χ² because φ is itself estimated
        [mccullagh1989]_.
        """
        from scipy.special import chdtri, fdtri

        if not self.freedom or self.ratio <= 1.0:
            return 1.0
        return self.ratio * float(fdtri(1, self.freedom, confidence) / chdtri(1, 1.0 - confidence))


@dataclass(frozen=True, slots=True)
class StageFit:
    """Counts of one stage, all trials together, against the fit.

    Parameters
    ----------
    stage : str
        Its name.
    tipped : int
        Cans counted there.
    expected : float
        Cans the fitted model expects there [-].
    p_value : float
        Share of trials simulated from the fit whose counts there agree worse [-].
    """

    stage: str
    tipped: int
    expected: float
    p_value: float


def quality_of(
    table: CountTable, counts: Sequence[int], best: float, rng: np.random.Generator
) -> Quality:
    """Judge a fit by simulation, which holds for the small counts that χ² does not.

    Parameters
    ----------
    table : CountTable
        Expected counts against the unknown.
    counts : sequence of int
        What was counted.
    best : float
        The fitted value, above 0 and finite.
    rng : numpy.random.Generator
        Source of the simulated counts.

    Returns
    -------
    Quality
        2000 sets of counts are drawn from the fit and fitted again on a grid about it.
    """
    at = float(np.log(best))
    means = table.means(at)
    got = float(deviance(counts, means, table.errors))
    freedom = len(counts) - 1
    if freedom < 1:
        return Quality(got, freedom, None)
    draws = drawn_counts(means, table.errors, rng, _DRAWS)
    # as far as the deviance of the counts rises by 30, where no simulated fit ends
    near = table.x[table.deviance(table.x, counts) < got + 30.0]
    grid = np.linspace(near.min(initial=at - 0.02), near.max(initial=at + 0.02), 81)
    simulated = table.deviance(grid, draws[:, None, :]).min(axis=1)
    return Quality(got, freedom, p_value_of(got, simulated))


def p_value_of(got: float, drawn: Floats) -> float:
    """Return the chance of a statistic as large, from draws of it, its own counted with them."""
    worse = int(np.count_nonzero(drawn >= got * (1.0 - 1e-9)))
    return (worse + 1) / (len(drawn) + 1)


def drawn_counts(
    means: ArrayLike, errors: ArrayLike, rng: np.random.Generator, draws: int
) -> Floats:
    """Draw counts about means that have relative standard errors, shape (draws, k)."""
    shape = 1.0 / np.maximum(errors, 1e-6) ** 2
    mu = np.asarray(means) * rng.gamma(shape, 1.0 / shape, size=(draws, np.size(means)))
    return rng.poisson(mu).astype(np.float64)


def dispersion_of(parts: Sequence[tuple[CountTable, Sequence[int], float]]) -> Dispersion:
    """Return Pearson's Σ (c − μ)²/(μ + s²μ²) over its degrees of freedom.

    Parameters
    ----------
    parts : sequence of (CountTable, counts, best)
        The fitted groups; counts of which less than one tip is expected are left out.
    """
    total, freedom = 0.0, 0
    for table, counts, best in parts:
        means = table.means(float(np.log(best)))
        told = means >= _FEWEST
        variance = means + (table.errors * means) ** 2
        total += float(np.sum(((np.asarray(counts) - means) ** 2 / variance)[told]))
        freedom += max(0, int(told.sum()) - 1)
    if not freedom:
        return Dispersion(1.0, 0)
    return Dispersion(float(f"{total / freedom:.8g}"), freedom)  # the fit knows no more digits
