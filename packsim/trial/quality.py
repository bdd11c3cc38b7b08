"""Do the counts look like the model that was fitted to them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.trial.likelihood import CountTable, log_likelihoods

_DRAWS = 2000


@dataclass(frozen=True, slots=True)
class Quality:
    """How well expected and counted tips agree.

    Parameters
    ----------
    deviance : float
        2 Σ [c ln(c/μ) − (c − μ)] [-].
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


def deviance(counts: ArrayLike, means: ArrayLike) -> Floats:
    """Poisson deviance 2 Σ [c ln(c/μ) − (c − μ)] over the last axis, with 0 ln 0 = 0.

    Examples
    --------
    >>> float(deviance([3, 0], [3.0, 1.0]))
    2.0
    """
    c, mu = np.asarray(counts, dtype=np.float64), np.asarray(means, dtype=np.float64)
    mu = np.maximum(mu, 1e-300)
    ratio = np.where(c > 0.0, c, 1.0) / np.where(c > 0.0, mu, 1.0)
    total: Floats = 2.0 * np.sum(c * np.log(ratio) - (c - mu), axis=-1)
    return total


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
        2000 sets of counts are drawn from the fit and fitted again on the table's own grid.
    """
    means = table.means(float(np.log(best)))
    got = float(deviance(counts, means))
    freedom = len(counts) - 1
    if freedom < 1:
        return Quality(got, freedom, None)
    draws = rng.poisson(means, size=(_DRAWS, len(means)))
    at = np.argmax(log_likelihoods(table, draws), axis=1)
    simulated = deviance(draws, np.exp(table.log_means[:, at].T))
    worse = int(np.count_nonzero(simulated >= got * (1.0 - 1e-9)))
    return Quality(got, freedom, (worse + 1) / (_DRAWS + 1))
