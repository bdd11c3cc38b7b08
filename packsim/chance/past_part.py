"""The part of a chance that a count of the past speaks of, and the kicks that would fit it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from packsim.arrays import Floats
from packsim.chance.line_chance import LineChance
from packsim.chance.rate import Rate, rate_of, tips_per_million
from packsim.line import PLACES, PastCount

FACTORS: Floats = np.geomspace(0.05, 20.0, 37)
"""Multiples of the kick energy that are tried; between them the logarithm of the rate is straight
over 1/E_k, as it is for a single barrier."""

Curve = tuple[Floats, Floats]
"""Expected tips over `FACTORS`, and their relative spread."""


def part_of(chance: LineChance, past: PastCount, factor: float = 1.0) -> Rate:
    """Return the tips per million expected of a count's part, at a multiple of the energies."""
    if chance.reason:
        return chance.line
    spectrum = chance.spectrum
    kicks = {name: factor * kick for name, kick in chance.kicks_mJ.items()}
    tips = tips_per_million(spectrum, kicks)
    if past.stage:
        tips = tips[:, [spectrum.stages.index(past.stage)]]
    if past.place:
        tips = tips[..., [PLACES.index(past.place)]]
    return rate_of(tips.sum(axis=(1, 2)))


def spread_of(rate: Rate) -> float:
    """Return the relative spread of a rate, of which its 95 % interval is 1.96 to either side."""
    if not rate.tips_per_million > 0.0:
        return 1e-6
    return max(1e-6, log_ratio(rate.interval[1], rate.tips_per_million) / 1.96)


def room_of(rate: Rate, cans: int) -> tuple[float, float]:
    """Return the counts per million that a rate, itself known with an error, leaves room for.

    A Poisson count whose mean has a gamma spread is negative binomial.
    """
    from scipy.stats import nbinom

    mean = rate.tips_per_million * cans / 1e6
    if not mean > 0.0:
        return (0.0, 0.0) if mean == 0.0 else (math.nan, math.nan)
    shape = 1.0 / spread_of(rate) ** 2
    low, high = nbinom.ppf([0.025, 0.975], shape, shape / (shape + mean))
    return 1e6 * float(low) / cans, 1e6 * float(high) / cans


def curve_of(chance: LineChance, past: PastCount) -> Curve:
    """Return the expected tips of a count's part, and their relative spread, over `FACTORS`."""
    rates = [part_of(chance, past, factor) for factor in FACTORS.tolist()]
    mean = np.array([rate.tips_per_million for rate in rates]) * past.cans / 1e6
    return mean, np.array([spread_of(rate) for rate in rates])


def fitted_factor(
    history: Sequence[PastCount], curves: Sequence[Curve]
) -> tuple[float, tuple[float, float]]:
    """Return the factor on the kick energies that is likeliest, and its profile interval.

    Where nothing tipped: 1, or the roughest kicks that allow it; nan where the counts say nothing.
    """
    from scipy.stats import nbinom

    fine = np.geomspace(FACTORS[0], FACTORS[-1], 8001)
    total = np.zeros(fine.size)
    for past, (mean, spread) in zip(history, curves, strict=True):
        if not np.all(mean >= 0.0):
            return math.nan, (math.nan, math.nan)
        logs = np.log(np.maximum(mean, 1e-300))
        m = np.exp(np.interp(-1.0 / fine, -1.0 / FACTORS, logs))
        shape = 1.0 / np.interp(-1.0 / fine, -1.0 / FACTORS, spread) ** 2
        total += nbinom.logpmf(past.tipped, shape, shape / (shape + m))
    best = int(np.argmax(total))
    inside = np.flatnonzero(total >= total[best] - 1.92)  # half of χ² at 95 %, one parameter
    nothing = not any(past.tipped for past in history)
    told = math.isfinite(total[best]) and inside.size < fine.size
    if not told or (best in (0, fine.size - 1) and not nothing):
        return math.nan, (math.nan, math.nan)
    low, high = float(fine[inside[0]]), float(fine[inside[-1]])
    return (min(1.0, high) if nothing else float(fine[best])), (low, high)


def log_ratio(upper: float, lower: float) -> float:
    """Return the logarithm of a ratio, ends that are 0 taken as next to it."""
    return math.log(max(upper, 1e-300) / max(lower, 1e-300))
