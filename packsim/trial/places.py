"""Do cans tip where the model says they do: left edge, centre, right edge."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.chance.curve import Curve
from packsim.trial.quality import p_value_of

PLACES_RARE: Final = 0.01
"""Chance below which counts by place contradict the model (our choice)."""

_DRAWS: Final = 4000


@dataclass(frozen=True, slots=True)
class PlaceTest:
    """Cans tipped by place, all trials together, against the model.

    Parameters
    ----------
    counted, expected : tuple of float
        Cans tipped at the left edge, in the centre, at the right edge.
    p_value : float
        Share of counts drawn from the model that agree worse [-].
    """

    counted: tuple[float, float, float]
    expected: tuple[float, float, float]
    p_value: float

    @property
    def contradicts(self) -> bool:
        """Whether the model is not to be used for a forecast."""
        return self.p_value < PLACES_RARE

    @property
    def look_at(self) -> str:
        """What to look at, by where the counts differ most."""
        total = sum(self.counted)
        left, centre, right = (c - e for c, e in zip(self.counted, self.expected, strict=True))
        if abs(left - right) > abs(centre) and left * right < 0.0:
            more = "left" if left > right else "right"
            return (
                f"more tip at the {more} edge than the model expects: look at the drift of the "
                "mat, the side on which the pack enters, and the middle of the guides at each stage"
            )
        if centre > 0.02 * total:
            return (
                "more tip in the centre than the model expects: look at how full the infeed keeps "
                "the pack, at a clear width measured wrong, and at nozzles in the middle"
            )
        return (
            "more tip at the edges than the model expects: look at a clear width measured wrong or "
            "bowed wires, at wire heights, and at the drift of the mat"
        )


def shares_of(
    weights: Sequence[float], curves: Sequence[Curve], log_energies: Sequence[float]
) -> tuple[Floats, Floats]:
    """Return the shares of the places where tips come from several stages, and their errors."""
    parts = [c.places_at(x) for c, x in zip(curves, log_energies, strict=True)]
    told = np.array(weights, dtype=np.float64)[:, None] * np.array([share for share, _ in parts])
    total = told.sum(axis=0)
    spread = np.sqrt(np.sum((told * np.array([error for _, error in parts])) ** 2, axis=0))
    errors = np.divide(spread, total, out=np.zeros(3), where=total > 0.0)
    return total / max(float(total.sum()), 1e-300), errors


def place_test(
    counts: Sequence[tuple[int, int, int]],
    shares: Sequence[Floats],
    errors: Sequence[Floats],
    factor: float,
    rng: np.random.Generator,
) -> PlaceTest:
    """Test counts by place against the model by drawing from it.

    Parameters
    ----------
    counts : sequence of (left, centre, right)
        Cans tipped in each trial.
    shares, errors : sequence of ndarray, shape (3,)
        What the model says, and the relative standard errors from its passages.
    factor : float
        How many cans a tip takes along, from the dispersion of the counts [-].
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    PlaceTest
        The exact multinomial test by Monte Carlo: 4000 sets of counts are drawn, of as many tips,
        in clusters of ``factor``, from shares that vary as their standard errors say; worse is a
        greater likelihood-ratio statistic.
    """
    got, drawn = 0.0, np.zeros(_DRAWS)
    for count, share, error in zip(counts, shares, errors, strict=True):
        clusters = max(1, round(sum(count) / factor))
        noise = rng.lognormal(0.0, np.sqrt(np.log1p(error**2)), size=(_DRAWS, 3))
        each = share * noise
        each /= each.sum(axis=1, keepdims=True)
        got += float(_statistic(np.array(count) * clusters / sum(count), share))
        drawn += _statistic(rng.multinomial(clusters, each).astype(np.float64), share)
    told = np.array([np.sum(count) * share for count, share in zip(counts, shares, strict=True)])
    left, centre, right = np.sum(counts, axis=0).tolist()
    expected = told.sum(axis=0).tolist()
    return PlaceTest((left, centre, right), tuple(expected), p_value_of(got, drawn))


def _statistic(counts: Floats, share: Floats) -> Floats:
    expected = np.maximum(counts.sum(axis=-1, keepdims=True) * share, 1e-12)
    ratio = np.where(counts > 0.0, counts, 1.0) / np.where(counts > 0.0, expected, 1.0)
    total: Floats = 2.0 * np.sum(counts * np.log(ratio), axis=-1)
    return total
