"""Tips to be expected as far as trials tell, with the uncertainty of the fit carried through."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.bounds import Part, bounds, confidence_points
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.likelihood import log_likelihoods
from packsim.trial.plan import stage_rooms
from packsim.trial.predict import NEGLIGIBLE, all_widths_mm
from packsim.trial.stage_case import LineCases, StageCase

_GRID: Final = 240
"""Values of an unknown looked at between the ends of what its counts allow."""


@dataclass(frozen=True, slots=True)
class FittedPrediction:
    """Tips to be expected at one setting, as far as trials tell.

    Parameters
    ----------
    widths_mm : tuple of float
        Clear width of every stage [mm].
    per_million, low, high : float
        Best value and its interval [tips per million].
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

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """Both ends of the interval [tips per million]."""
        return self.low, self.high


def predict_fitted(
    fit: TrialFit,
    size: str,
    widths_mm: ArrayLike,
    run_cans: float | None = None,
    at: Scenario | None = None,
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
    at : Scenario, optional
        The line with the wires, hold-downs and mat speed it then has; as in the trials by default.

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
    line = fit.line(size) if at is None else LineCases(at, size, fit.slack_case)
    return tuple(_one(fit, line, row, run_cans) for row in widths)


def closed_in_steps_mm(scenario: Scenario, size: str) -> list[list[float]]:
    """Return clear widths of every stage, from as set down to where the first one is tight [mm].

    All stages move alike, in about eight steps of a whole millimetre.
    """
    rooms = stage_rooms(scenario, size)
    most = max(0.0, min(room.now_mm - room.low_mm for room in rooms))
    step = max(1.0, round(most / 8.0))
    moves = [0.0, *(step * i for i in range(1, 1 + int(most / step)))]
    as_set = [stage.guides.narrowest_mm for stage in scenario.stages]
    return [[width - move for width in as_set] for move in moves]


def _one(
    fit: TrialFit, line: LineCases, widths: Floats, run_cans: float | None
) -> FittedPrediction:
    cases = [line.case(i, float(width)) for i, width in enumerate(widths)]
    parts, fixed = [], dict.fromkeys((case.duty for case in cases), 0.0)
    for group in fit.groups:
        mine = [
            (case, stage.kicks.energy_mJ)
            for case, stage in zip(cases, fit.scenario.stages, strict=True)
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
        widths_mm=tuple(float(w) for w in widths),
        per_million=1e6 * best,
        low=1e6 * (sure + low),
        high=1e6 * (sure + high),
        run=run,
        assumed=tuple(assumed),
    )


def _part(group: GroupFit, cases: Sequence[StageCase], fit: TrialFit) -> Part:
    """Chance of a tip in a group's stages against its unknown, with the unknown's deviance."""
    table, result = group.table, group.estimate
    if table is None or result is None:
        raise InputError("group", group.status, "a group with counts")
    counts = np.array([one.tipped for one in group.observations], dtype=np.float64)
    fitted = result.status == "fitted"
    centre = math.log(result.best) if fitted else float(table.x[0])
    least = float(table.loss(centre, counts)) if fitted else 0.0
    near = np.flatnonzero(2.0 * (-log_likelihoods(table, counts) - least) < 30.0)
    x = np.linspace(table.x[near[0]], table.x[near[-1]], _GRID)
    x = np.unique(np.append(x, centre))
    dev = np.maximum(2.0 * (table.loss(x, counts) - least), 0.0)
    chance = np.zeros(len(x))
    for case in cases:
        scale = group.energy_mJ(case.duty, 1.0)
        found = np.exp(case.log_chances(np.exp(x) * scale, fit.sharing))
        chance += found.mean(axis=1)
    at = int(np.searchsorted(x, centre))
    return Part(chance, dev, float(chance[at]) if fitted else 0.0, at)


def _chance(case: StageCase, kick_mJ: float, sharing: str) -> float:
    if kick_mJ <= 0.0:
        return 0.0
    return float(np.exp(case.log_chances(np.array([kick_mJ]), sharing)).mean())


def _run(parts: Sequence[Part], fixed: float, cans: float, confidence: float) -> tuple[int, int]:
    """Quantiles of a run's count, Poisson mixed over the confidence distribution of its mean."""
    from scipy.special import pdtr

    means = cans * (fixed + confidence_points(parts))
    tail = (1.0 - confidence) / 2.0
    most = float(means.max())
    high = int(most + 12.0 * math.sqrt(most) + 30.0)  # far beyond any quantile asked for

    def below(count: int) -> float:
        return float(pdtr(count, means).mean())

    return _smallest(below, tail, 0, high), _smallest(below, 1.0 - tail, 0, high)


def _smallest(below: Callable[[int], float], chance: float, low: int, high: int) -> int:
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if below(middle) >= chance else (middle + 1, high)
    return low
