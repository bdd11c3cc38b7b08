"""Cans down today and after a change: a count says how many, the model which share is left.

Arrays begin with the case in which everything is as it is taken; equally likely draws come after.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.counts.intervals import agreement
from packsim.money.figures import SizeFigures, drawn

SURE: Final = 0.975
"""Share of the draws from which on something is said to be so: the 95 % interval is past it."""

_TAILS: Final = (1.0 - SURE, SURE)


LEAST_PER_MILLION: Final = 1e-3
"""Of fewer tips than this, one can in 10^9, the model knows no ratio: as good as none."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A number with its interval.

    Parameters
    ----------
    best : float
        With everything as it is taken.
    interval : tuple of float
        95 % of the draws lie within, and the best value.
    """

    best: float
    interval: tuple[float, float]

    @staticmethod
    def of(draws: Floats) -> Spread:
        """Return the spread of draws that follow the case as taken; some may be infinite."""
        best = float(draws[0])
        low, high = np.quantile(draws[1:], _TAILS, method="inverted_cdf").tolist()
        return Spread(best, (min(low, best), max(high, best)))


@dataclass(frozen=True, slots=True)
class SizeSaving:
    """What is saved of one can size.

    Parameters
    ----------
    size : str
        Its name.
    counted : bool
        Whether today's cans down are counted; else they are the model's own.
    cans_per_year : Spread
        Cans that pass in a year.
    down_before, down_after : Spread
        Cans down in a million, today and after the change.
    left_over : Spread
        Cans down after the change as a share of those before [-].
    model_before : Spread
        The model's own tips in a million today.
    saved_cans_per_year : Spread
        Fewer cans down in a year.
    says_nothing : float
        Share of the draws in which the model tips no can before: it knows no ratio, and nothing
        counts as saved [-].
    explained : bool
        Whether the cans that had tipped are as many as the model leaves room for; so they are where
        nobody counted.
    """

    size: str
    counted: bool
    cans_per_year: Spread
    down_before: Spread
    down_after: Spread
    left_over: Spread
    model_before: Spread
    saved_cans_per_year: Spread
    says_nothing: float
    explained: bool


def cans_down(one: SizeFigures, tips: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return the cans down in a million before and after, from the model's tips in such an order.

    Where the line was counted the count says how many before, and the model the ratio alone. It
    holds for the share of them that had tipped; for all of them where nobody looked.
    """
    before, after = tips.T
    if not one.cans_counted:
        return before, after
    counted = rate_draws(one.cans_down, one.cans_counted, rng, before.size - 1)
    down, knows = np.minimum(counted, 1e6), before >= LEAST_PER_MILLION
    # where the model knows no ratio, what it tips after comes on top
    ratio = np.divide(after, before, out=np.ones(before.size), where=knows)
    tipped = down * _share(one, rng, down.size - 1)
    then = np.where(knows, down - tipped * (1.0 - ratio), down + after)
    return down, np.minimum(then, 1e6)


def _share(one: SizeFigures, rng: np.random.Generator, draws: int) -> Floats:
    """Return the share of the cans down that had tipped; all of them where nobody looked."""
    if one.tipped_share is None:
        return np.ones(1 + draws)
    return drawn(one.tipped_share, rng, draws)


def rate_draws(count: int, cans: int, rng: np.random.Generator, draws: int) -> Floats:
    """Return a count in a million, then equally likely rates it leaves open, shape (1 + draws,).

    Notes
    -----
    Rates of n of N are drawn from Γ(n + ½, 1/N), Jeffreys' posterior of a Poisson rate
    [jeffreys1946]_.
    """
    return np.concatenate(([1e6 * count / cans], 1e6 * rng.gamma(count + 0.5, 1.0 / cans, draws)))


def silent(one: SizeFigures, tips: Floats) -> Bools:
    """Return where cans were counted down, but the model tips none: it knows of no change."""
    none: Bools = np.all(tips < LEAST_PER_MILLION, axis=1)
    return none if one.cans_down else np.zeros_like(none)


def saving_of_size(
    one: SizeFigures, tips: Floats, rng: np.random.Generator, after: Floats | None = None
) -> tuple[SizeSaving, Floats]:
    """Return what is saved of a size, and the draws of the cans saved in a year.

    ``after`` is the cans down in a million after the change where a trial counted them.
    """
    passed = drawn(one.cans_a_year, rng, tips.shape[0] - 1)
    down, then = cans_down(one, tips, rng)
    then = then if after is None else after
    saved = passed * (down - then) / 1e6
    left = np.divide(then, down, out=np.ones(down.size), where=down > 0.0)
    model = Spread.of(tips[:, 0])
    counted = Spread.of(down * _share(one, rng, down.size - 1)) if one.cans_counted else model
    row = SizeSaving(
        size=one.size,
        counted=one.cans_counted > 0,
        cans_per_year=Spread.of(passed),
        down_before=Spread.of(down),
        down_after=Spread.of(then),
        left_over=Spread.of(left),
        saved_cans_per_year=Spread.of(saved),
        model_before=model,
        says_nothing=float(np.mean(tips[1:, 0] < LEAST_PER_MILLION)),
        explained=agreement(counted.interval, model.interval) == "agree",
    )
    return row, saved
