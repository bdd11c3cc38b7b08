"""Tips per million cans, and how well repeats of a passage know them."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Floats
from packsim.chance.spectrum import Spectrum
from packsim.passage import PLACES


@dataclass(frozen=True, slots=True, eq=False)
class Rate:
    """Tips per million cans fed, and how well they are known.

    Parameters
    ----------
    tips_per_million : float
        Mean of the repeats; nan where no can fits.
    interval : tuple of float
        Its 95 % interval.
    error : float
        Relative standard error; 0 where no repeat has a tip [-].
    """

    tips_per_million: float
    interval: tuple[float, float]
    error: float

    @property
    def cans_counting_would_need(self) -> float:
        """Cans to count for the same standard error: 1/error² tips."""
        if self.error == 0.0:
            return math.nan
        return 1e6 / (self.error**2 * self.tips_per_million)


@dataclass(frozen=True, slots=True, eq=False)
class StageChance(Rate):
    """The chance of a tip in one stage.

    Parameters
    ----------
    tips_per_million : float
        Mean of the repeats; nan where no can fits.
    interval : tuple of float
        Its 95 % interval.
    error : float
        Relative standard error; 0 where no repeat has a tip [-].
    stage : str
        Its name.
    by_place : ndarray, shape (3,)
        The tips per million by `packsim.passage.PLACES`.
    by_place_interval : ndarray, shape (3, 2)
        Their 95 % intervals.
    """

    stage: str
    by_place: Floats
    by_place_interval: Floats


def rates_of(
    spectrum: Spectrum, kicks_mJ: Mapping[str, float]
) -> tuple[Rate, tuple[StageChance, ...]]:
    """Return the rate of the line and of every stage at kick energies by stage [mJ]."""
    tips = tips_per_million(spectrum, kicks_mJ)
    stages = []
    for i, name in enumerate(spectrum.stages):
        places = [rate_of(tips[:, i, p]) for p in range(len(PLACES))]
        whole = rate_of(tips[:, i].sum(axis=1))
        stages.append(
            StageChance(
                tips_per_million=whole.tips_per_million,
                interval=whole.interval,
                error=whole.error,
                stage=name,
                by_place=np.array([one.tips_per_million for one in places]),
                by_place_interval=np.array([one.interval for one in places]),
            )
        )
    return rate_of(tips.sum(axis=(1, 2))), tuple(stages)


def tips_per_million(spectrum: Spectrum, kicks_mJ: Mapping[str, float]) -> Floats:
    """Return tips per million of every repeat, stage and place at kick energies by stage [mJ]."""
    return np.asarray(1e6 * np.einsum("rklp,l->rkp", spectrum.tips(kicks_mJ), spectrum.share))


def rate_of(each: Floats) -> Rate:
    """Return the mean of the repeats with its 95 % interval.

    Parameters
    ----------
    each : ndarray, shape (r,)
        Tips per million of r repeats, at least 2.

    Returns
    -------
    Rate
        With the interval about the mean in the logarithm, from Student's t. Where no repeat is
        without a tip it is widened to Cox's interval for a lognormal mean [olsson2005]_, as repeats
        of rare tips are many small and a few large ones. Of 20,000 samples of 4 to 32 lognormal
        values (σ up to 2) it held the true mean 90 to 96 times in a hundred, the plain interval
        53 to 95.
    """
    from scipy.stats import t

    mean = float(each.mean())
    if mean == 0.0:
        return Rate(0.0, (0.0, 0.0), 0.0)
    student, count = float(t.ppf(0.975, each.size - 1)), each.size
    error = float(each.std(ddof=1)) / (math.sqrt(count) * mean)
    low, high = -student * error, student * error
    if each.min() > 0.0:
        logs = np.log(each / mean)
        var = min(float(logs.var(ddof=1)), 9.0)  # wider, and a lognormal says nothing any more
        middle = float(logs.mean()) + var / 2.0
        wide = student * math.sqrt(var / count + var * var / (2.0 * (count - 1)))
        low, high = min(low, middle - wide), max(high, middle + wide)
    top = min(1e6, math.exp(min(700.0, math.log(mean) + high)))
    return Rate(mean, (mean * math.exp(max(low, -700.0)), max(mean, top)), error)
