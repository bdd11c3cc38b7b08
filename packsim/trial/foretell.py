"""Tips to be expected as far as trials tell, with the uncertainty of the fit carried through."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.chance.curve import Curve
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.chances import Chances, Progress, assumed_duties, with_kicks
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.plan import stage_rooms
from packsim.trial.quality import Dispersion

_DRAWS: Final = 8001
"""Equally likely values of each unknown that are looked at."""

_GRID: Final = 401
"""Values of an unknown looked at between the ends of what its counts allow."""

_STEPS: Final = 4
"""Settings shown from as set to tight: each is a passage of its own."""


@dataclass(frozen=True, slots=True)
class FittedPrediction:
    """Tips to be expected at one setting, as far as trials tell.

    Parameters
    ----------
    widths_mm : tuple of float
        Clear width of every stage [mm].
    tips_per_million : float
        Best value.
    tips_per_million_interval : tuple of float
        Its interval, with the confidence of the fit.
    tips_in_run : tuple of int or None
        Least and most a run of the cans asked for would count, with the same confidence.
    assumed_duties : tuple of str
        Duties that add to it with a kick energy no trial has fitted.
    """

    widths_mm: tuple[float, ...]
    tips_per_million: float
    tips_per_million_interval: tuple[float, float]
    tips_in_run: tuple[int, int] | None
    assumed_duties: tuple[str, ...]


def predict_fitted(
    fit: TrialFit,
    size: str,
    widths_mm: Sequence[float],
    run_cans: float | None = None,
    at: Scenario | None = None,
    progress: Progress | None = None,
) -> FittedPrediction:
    """Return the tips to be expected at one setting with the fit's interval.

    Parameters
    ----------
    fit : TrialFit
        What the trials say.
    size : str
        Name of the can size.
    widths_mm : sequence of float
        Clear width of every stage [mm].
    run_cans : float, optional
        Cans of a run whose count is to be foretold.
    at : Scenario, optional
        The line with the wires, hold-downs and mat speed it then has; as in the trials by default.
    progress : callable, optional
        Told of every passage on such a line.

    Returns
    -------
    FittedPrediction
        From a passage at these widths. The interval holds what the counts leave open about the kick
        energies, and the standard error of the passage. Duties with no tips add from 0 up to what
        their trials allow. Duties that were not fitted have their assumed energy and are named.

    Raises
    ------
    InputError
        If the counts contradict the model, or a width does not hold the cans.

    Notes
    -----
    The confidence distribution of each kick energy, whose quantiles are the ends of its profile
    intervals, is drawn from; the count of a run is drawn about each mean, as much dispersed as the
    counts were. Derived here; its coverage is measured in tests/trial/test_coverage.py.
    """
    if fit.contradicted:
        raise InputError("trials", fit.contradicted, "counts the model can explain, to forecast")
    chances = fit.chances if at is None else Chances(with_kicks(at, fit.kicks_mJ()), progress)
    return foretold(fit, size, widths_mm, run_cans, chances)


def foretold(
    fit: TrialFit, size: str, widths_mm: Sequence[float], run_cans: float | None, chances: Chances
) -> FittedPrediction:
    """Foretell as `predict_fitted` does, also where the model is contradicted, to compare."""
    found = chances.at(size, widths_mm).at(fit.kicks_mJ())
    best = found.tips_per_million
    rng = np.random.default_rng(np.random.SeedSequence(fit.scenario.seed))
    tails = [(1.0 - fit.confidence) / 2.0, (1.0 + fit.confidence) / 2.0]
    draws = _draws(fit, chances.curves(size, widths_mm), rng)
    low, high = (1e6 * np.quantile(draws, tails)).tolist()
    if not any(group.told for group in fit.groups):
        low, high = found.tips_per_million_interval
    run = None
    if run_cans is not None:
        counts = _counts(draws * run_cans, fit.dispersion, rng)
        least, most = np.quantile(counts, tails, method="inverted_cdf")
        run = int(least), int(most)
    return FittedPrediction(
        widths_mm=tuple(float(width) for width in widths_mm),
        tips_per_million=best,
        tips_per_million_interval=(min(low, best), max(high, best)),
        tips_in_run=run,
        assumed_duties=assumed_duties(chances.scenario, [found], fit.energies_mJ()),
    )


def closed_in_steps_mm(scenario: Scenario, size: str) -> list[list[float]]:
    """Return clear widths of every stage, from as set down to where the first one is tight [mm].

    All stages move alike, in about four steps of a whole millimetre.
    """
    rooms = stage_rooms(scenario, size)
    most = max(0.0, min(room.now_mm - room.window.low_mm for room in rooms))
    step = max(1.0, round(most / _STEPS))
    moves = [0.0, *(step * i for i in range(1, 1 + int(most / step)))]
    as_set = [stage.guides.narrowest_mm for stage in scenario.stages]
    return [[width - move for width in as_set] for move in moves]


def _draws(fit: TrialFit, curves: Sequence[Curve], rng: np.random.Generator) -> Floats:
    """Equally likely chances of a tip on the whole line, shape (draws,)."""
    from scipy.special import ndtri

    normal: Floats = ndtri((np.arange(_DRAWS) + 0.5) / _DRAWS)
    kicks = fit.kicks_mJ()
    unknown = {
        duty: np.log(group.energy_mJ(duty, 1.0)) + drawn
        for group in fit.groups
        if group.told
        for drawn in (_unknowns(fit, group, rng.permutation(normal)),)
        for duty in group.duties
        if group.touches(duty)
    }
    stands = np.zeros(_DRAWS)
    for curve in curves:
        x = unknown.get(curve.duty, np.full(_DRAWS, np.log(max(kicks[curve.stage], 1e-9))))
        error = float(curve.error_at(float(np.median(x))))
        chance = np.exp(curve.log_chance(x) + error * rng.permutation(normal))
        stands += np.log1p(-np.minimum(chance, 1.0 - 1e-12))
    return -np.expm1(stands)


def _unknowns(fit: TrialFit, group: GroupFit, normal: Floats) -> Floats:
    """Draw ln of a group's unknown from its confidence distribution."""
    from scipy.special import log_ndtr

    table, result = group.table, group.estimate
    if table is None or result is None:
        raise InputError("group", group.status, "a group with counts")
    if result.status == "upper limit":
        # no tip among M expected: the chance of that is exp(−M)
        total = np.logaddexp.reduce(table.log_means, axis=0)
        found: Floats = np.interp(np.log(-log_ndtr(-normal)), total, table.x)
        return found
    counts, centre = [one.tipped for one in group.observations], float(np.log(result.best))
    near = table.x[table.deviance(table.x, counts) < float(table.deviance(centre, counts)) + 40.0]
    x = np.linspace(min(near[0], centre - 0.1), max(near[-1], centre + 0.1), _GRID)
    x = np.unique(np.append(x, centre))
    spent = np.maximum(table.deviance(x, counts) - table.deviance(centre, counts), 0.0)
    root = np.sqrt(spent / fit.dispersion.widening(fit.confidence)) * np.sign(x - centre)
    drawn: Floats = np.interp(normal, np.maximum.accumulate(root), x)
    return drawn


def _counts(means: Floats, dispersion: Dispersion, rng: np.random.Generator) -> Floats:
    """Draw counts as widely dispersed as those of the trials, which tell that only roughly."""
    if dispersion.factor == 1.0:
        return rng.poisson(means).astype(np.float64)
    known = rng.chisquare(dispersion.freedom, means.size) / dispersion.freedom
    factor = np.maximum(dispersion.ratio / known, 1.0 + 1e-9)
    shape = np.maximum(means, 1e-12) / (factor - 1.0)
    return rng.negative_binomial(shape, 1.0 / factor).astype(np.float64)
