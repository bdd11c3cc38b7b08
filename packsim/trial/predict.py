"""Tips to be expected at other clear widths, with the uncertainty of a fit carried through."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.bounds import Part, bounds, confidence_points
from packsim.trial.fit import GroupFit, TrialFit
from packsim.trial.stage_case import LineCases, StageCase

__all__ = ["NEGLIGIBLE", "FittedPrediction", "Prediction", "all_widths_mm", "predict", "predict_fitted"]

Floats = NDArray[np.float64]

NEGLIGIBLE: Final = 1e-3
"""A duty that adds less than this share of the tips is not named as assumed."""

_GRID: Final = 240
"""Values of an unknown looked at between the ends of what its counts allow."""


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """Tips to be expected at several settings.

    Parameters
    ----------
    widths_mm : ndarray, shape (k, stages)
        Clear width of every stage at each setting [mm].
    per_million : ndarray, shape (k,)
        Cans tipped in a million, all stages.
    by_stage : ndarray, shape (k, stages)
        The same by stage.
    by_place : ndarray, shape (k, 3)
        The same at the left edge, in the centre, at the right edge; the model knows no side.
    """

    widths_mm: Floats
    per_million: Floats
    by_stage: Floats
    by_place: Floats


@dataclass(frozen=True, slots=True)
class FittedPrediction:
    """Tips to be expected at one setting, as far as trials tell.

    Parameters
    ----------
    widths_mm : tuple of float
        Clear width of every stage [mm].
    per_million, low, high : float
        Best value and its interval [cans in a million].
    run : tuple of int or None
        Least and most a run of the cans asked for would count, with the same confidence.
    assumed : tuple of str
        Duties that add to it with a kick energy no trial has fitted.
    """

    widths_mm: tuple[float, ...]
    per_million: float
    low: float
    high: float
    run: tuple[int, int] | None
    assumed: tuple[str, ...]


def predict(
    scenario: Scenario,
    size: str,
    widths_mm: ArrayLike,
    energies_mJ: Mapping[str, float] | None = None,
    *,
    sharing: str = "spread",
    slack_case: str = "set",
    line: LineCases | None = None,
) -> Prediction:
    """Return the tips to be expected at other clear widths.

    Parameters
    ----------
    scenario : Scenario
        The line.
    size : str
        Name of the can size.
    widths_mm : array_like, shape (k,) or (k, stages)
        Clear widths, the same at every stage or one for each [mm].
    energies_mJ : mapping, optional
        Kick energy by duty [mJ]; each stage's own where a duty is not in it.
    sharing : {"spread", "gathered"}
        How slack lies in a row.
    slack_case : {"set", "loosest"}
        Which slack the rows have.
    line : LineCases, optional
        What earlier predictions of this size worked out, to spare the spray loads.

    Returns
    -------
    Prediction
        By setting, stage and place. A hold-down mat that blocks, and slack within the safe slack,
        give 0.

    Raises
    ------
    InputError
        If the size is unknown or a width is not above 0.
    """
    widths = all_widths_mm(scenario, widths_mm)
    line = LineCases(scenario, size, slack_case) if line is None else line
    energies = energies_mJ or {}
    by_stage = np.zeros(widths.shape)
    by_place = np.zeros((len(widths), 3))
    for k, i in np.ndindex(*widths.shape):
        stage = scenario.stages[i]
        kick = energies.get(stage.duty, stage.kicks.energy_mJ)
        if kick <= 0.0:
            continue
        case = line.case(i, float(widths[k, i]))
        chances = np.exp(case.log_chances(np.array([kick]), sharing))[0]
        by_stage[k, i] = chances.mean()
        by_place[k] += _by_place(chances)
    return Prediction(widths, 1e6 * by_stage.sum(axis=1), 1e6 * by_stage, 1e6 * by_place)


def predict_fitted(
    fit: TrialFit, size: str, widths_mm: ArrayLike, run_cans: float | None = None
) -> tuple[FittedPrediction, ...]:
    """Return the tips to be expected at other clear widths with the fit's interval.

    Parameters
    ----------
    fit : TrialFit
        What the trials say.
    size : str
        Name of the can size.
    widths_mm : array_like, shape (k,) or (k, stages)
        As for `predict`.
    run_cans : float, optional
        Cans of a run whose count is to be foretold.

    Returns
    -------
    tuple of FittedPrediction
        One for each setting. The interval is the profile interval of the sum over stages: all
        kick energies whose deviances together stay within χ²(confidence; 1). Duties with no tips
        add from 0 up to what their trials allow. Duties without any information add their assumed
        value, without interval, and are named.

    Notes
    -----
    The count of a run is foretold by mixing Poisson counts over the confidence distribution of
    their mean, whose quantiles are the ends of profile intervals. Derived here; its coverage is
    measured in tests/trial/test_coverage.py.
    """
    widths = all_widths_mm(fit.scenario, widths_mm)
    line = fit.line(size)
    return tuple(_one(fit, line, row, run_cans) for row in widths)


def all_widths_mm(scenario: Scenario, widths_mm: ArrayLike) -> Floats:
    """Return a clear width for every setting and stage, shape (k, stages) [mm]."""
    widths = np.asarray(widths_mm, dtype=np.float64)
    if widths.ndim == 1:
        widths = np.repeat(widths[:, None], len(scenario.stages), axis=1)
    if widths.ndim != 2 or widths.shape[1] != len(scenario.stages):
        allowed = f"(k,) or (k, {len(scenario.stages)})"
        raise InputError("widths_mm", f"shape {np.shape(widths_mm)}", allowed)
    return widths


def _one(
    fit: TrialFit,
    line: LineCases,
    widths: Floats,
    run_cans: float | None,
) -> FittedPrediction:
    stages = fit.scenario.stages
    cases = [line.case(i, float(width)) for i, width in enumerate(widths)]
    parts, fixed = [], dict.fromkeys((case.duty for case in cases), 0.0)
    for group in fit.groups:
        mine = [
            (case, stage.kicks.energy_mJ)
            for case, stage in zip(cases, stages, strict=True)
            if case.duty in group.duties and not case.why_never
        ]
        if group.table is None or group.estimate is None or math.isinf(group.estimate.best):
            for case, energy in mine:
                fixed[case.duty] += _chance(case, energy, fit.sharing)
        elif mine:
            parts.append(_part(group, [case for case, _ in mine], fit))
    sure = sum(fixed.values())
    best = sure + sum(part.best for part in parts)
    assumed = [duty for duty, chance in fixed.items() if chance > NEGLIGIBLE * best]
    low, high = bounds(parts, fit.confidence)
    run = None if run_cans is None else _run(parts, sure, run_cans, fit.confidence)
    return FittedPrediction(
        tuple(float(w) for w in widths),
        1e6 * best,
        1e6 * (sure + low),
        1e6 * (sure + high),
        run,
        tuple(assumed),
    )


def _part(group: GroupFit, cases: Sequence[StageCase], fit: TrialFit) -> Part:
    """Chance of a tip in a group's stages against its unknown, with the unknown's deviance."""
    table, result = group.table, group.estimate
    if table is None or result is None:
        raise InputError("group", group.status, "a group with counts")
    counts = np.array([one.tipped for one in group.observations], dtype=np.float64)
    losses = np.exp(table.log_means).sum(axis=0) - counts @ table.log_means
    if result.status == "fitted":
        centre = math.log(result.best)
        logs = table.spline(centre)
        least = float(np.exp(logs).sum() - counts @ logs)
    else:
        centre, least = float(table.x[0]), 0.0
    near = np.flatnonzero(2.0 * (losses - least) < 30.0)
    x = np.linspace(table.x[near[0]], table.x[near[-1]], _GRID)
    x = np.unique(np.append(x, centre))
    logs = table.spline(x)
    dev = np.maximum(2.0 * (np.exp(logs).sum(axis=0) - counts @ logs - least), 0.0)
    chance = np.zeros(len(x))
    for case in cases:
        scale = group.energy_mJ(case.duty, 1.0)
        found = np.exp(case.log_chances(np.exp(x) * scale, fit.sharing))
        chance += found.mean(axis=1)
    at_best = float(chance[np.searchsorted(x, centre)]) if result.status == "fitted" else 0.0
    return Part(chance, dev, at_best, int(np.searchsorted(x, centre)))


def _chance(case: StageCase, kick_mJ: float, sharing: str) -> float:
    if kick_mJ <= 0.0:
        return 0.0
    return float(np.exp(case.log_chances(np.array([kick_mJ]), sharing)).mean())


def _run(parts: Sequence[Part], fixed: float, cans: float, confidence: float) -> tuple[int, int]:
    """Quantiles of a run's count, Poisson mixed over the confidence distribution of its mean."""
    from scipy.stats import poisson

    means = cans * (fixed + confidence_points(parts))
    tail = (1.0 - confidence) / 2.0
    low, high = int(poisson.ppf(tail, means.min())), int(poisson.isf(tail, means.max()))

    def below(count: int) -> float:
        return float(poisson.cdf(count, means).mean())

    return _smallest(below, tail, low, high), _smallest(below, 1.0 - tail, low, high)


def _smallest(below: Callable[[int], float], chance: float, low: int, high: int) -> int:
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if below(middle) >= chance else (middle + 1, high)
    return low


def _by_place(chances: Floats) -> Floats:
    """Share out a row's mean chance: first can, last can, those between; a lone can is centre."""
    n = len(chances)
    if n == 1:
        return np.array([0.0, chances[0], 0.0])
    return np.array([chances[0], chances[1:-1].sum(), chances[-1]]) / n
