"""The part of a chance that a count of the past speaks of, and the kicks that would fit it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.chance.curve import Curve, curve_of
from packsim.chance.likelihood import Observation, estimate, table_of, with_errors
from packsim.chance.line_chance import LineChance
from packsim.chance.rate import Rate, rate_of, tips_per_million
from packsim.line import PLACES, PastCount

FACTORS: Final[Floats] = np.geomspace(0.05, 20.0, 121)
"""Multiples of the kick energy at which a chance is tabled."""


def part_of(chance: LineChance, past: PastCount) -> Rate:
    """Return the tips per million expected of a count's part."""
    if chance.reason:
        return chance.line
    tips = tips_per_million(chance.spectrum, chance.kicks_mJ)[..., 0]
    if past.stage:
        tips = tips[:, [chance.spectrum.stages.index(past.stage)]]
    if past.place:
        tips = tips[..., [PLACES.index(past.place)]]
    return rate_of(tips.sum(axis=(1, 2)))


def curve_of_part(chance: LineChance, past: PastCount) -> Curve:
    """Return the chance of a count's part against ln of a factor on all kick energies."""
    kicks = {name: kick * FACTORS for name, kick in chance.kicks_mJ.items()}
    return curve_of(chance.spectrum, np.log(FACTORS), kicks, past.stage, past.place)


def room_of(rate: Rate, cans: int) -> tuple[float, float]:
    """Return the counts per million that a rate, itself known with an error, leaves room for.

    A Poisson count whose mean has a gamma spread is negative binomial.
    """
    from scipy.stats import nbinom

    mean = rate.tips_per_million * cans / 1e6
    if not mean > 0.0:
        return (0.0, 0.0) if mean == 0.0 else (math.nan, math.nan)
    spread = max(1e-6, log_ratio(rate.interval[1], rate.tips_per_million) / 1.96)
    shape = 1.0 / spread**2
    low, high = nbinom.ppf([0.025, 0.975], shape, shape / (shape + mean))
    return 1e6 * float(low) / cans, 1e6 * float(high) / cans


def fitted_factor(
    history: Sequence[PastCount], curves: Sequence[Curve]
) -> tuple[float, tuple[float, float]]:
    """Return the factor on the kick energies that is likeliest, and its profile interval.

    Where nothing tipped: 1, or the roughest kicks that allow it; nan where the counts say nothing.
    """
    nothing = math.nan, (math.nan, math.nan)
    counts = [
        Observation(i, past.cans, past.tipped, (curve,), (0.0,))
        for i, (past, curve) in enumerate(zip(history, curves, strict=True))
    ]
    used = [one for one in counts if not one.says_nothing]
    if not used or any(one.never and one.tipped for one in counts):
        return nothing
    tipped = [one.tipped for one in used]
    found = estimate(with_errors(table_of(used), tipped), tipped)
    least, most = float(FACTORS[0]), float(FACTORS[-1])
    low, high = max(found.low, least), min(found.high, most)
    if found.status == "upper limit":
        return nothing if high == most else (min(1.0, high), (low, high))
    if found.status != "fitted" or not 1.05 * least < found.best < most / 1.05:
        return nothing
    return found.best, (low, high)


def log_ratio(upper: float, lower: float) -> float:
    """Return the logarithm of a ratio, ends that are 0 taken as next to it."""
    return math.log(max(upper, 1e-300) / max(lower, 1e-300))
