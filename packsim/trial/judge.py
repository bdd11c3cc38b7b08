"""What is odd about counts: a trial the others do not lead to, a stage, the places of the tips."""

import itertools
from collections.abc import Sequence

import numpy as np

from packsim.arrays import Floats
from packsim.chance.likelihood import deviance
from packsim.counts.intervals import per_million_interval
from packsim.trial.foretell import foretold
from packsim.trial.groups import TrialFit
from packsim.trial.places import PlaceTest, place_test, shares_of
from packsim.trial.quality import StageFit, drawn_counts, p_value_of
from packsim.trial.trial import Trial, TrialCount

_DRAWS = 2000

_SWAP = 15.0
"""Deviance by which two counts fit better the other way round before that is said; χ² of 15 with
one degree of freedom comes once in ten thousand times."""


def counts_of(fit: TrialFit, without: Sequence[TrialFit | None]) -> tuple[TrialCount, ...]:
    """Return every trial as a rate, against the fit and against the fit without it."""
    found = []
    for trial, others in zip(fit.trials, without, strict=True):
        found_there = fit.chances.at(trial.size, trial.widths_mm).at(fit.kicks_mJ())
        expected = trial.cans * found_there.tips_per_million / 1e6
        run: tuple[int, int] | None = None
        swapped: tuple[str, ...] = ()
        if others is not None and others.energies_mJ():
            run = foretold(others, trial.size, trial.widths_mm, trial.cans, fit.chances).tips_in_run
            swapped = _swapped(others, trial) if trial.by_stage else ()
        found.append(
            TrialCount(
                trial=trial,
                tips_per_million=trial.per_million,
                tips_per_million_interval=per_million_interval(
                    trial.tipped, trial.cans, fit.confidence
                ),
                used=trial not in fit.left_out,
                expected=expected,
                from_others=run,
                swapped=swapped,
            )
        )
    return tuple(found)


def _swapped(others: TrialFit, trial: Trial) -> tuple[str, ...]:
    """Return two stages whose counts fit the other trials far better the other way round."""
    means, errors, _ = _expected(others, trial)
    counts = np.array([count.tipped or 0 for count in trial.stages], dtype=np.float64)
    factor = others.dispersion.factor
    told = [i for i, s in enumerate(others.scenario.stages) if others.group(s.duty).told]

    def loss(order: list[int]) -> float:
        # a mean of less than half a can is as good as none
        at = np.maximum(means[told], 0.5)
        return float(deviance(counts[order][told], at, errors[told])) / factor

    as_is = loss(list(range(counts.size)))
    gain, found = _SWAP, tuple[str, ...]()
    for i, j in itertools.combinations(told, 2):
        order = list(range(counts.size))
        order[i], order[j] = j, i
        if as_is - loss(order) > gain:
            gain, found = as_is - loss(order), (trial.stages[i].stage, trial.stages[j].stage)
    return found


def _expected(fit: TrialFit, trial: Trial) -> tuple[Floats, Floats, list[float]]:
    """Tips expected at every stage of a trial, their relative errors, and ln of the energies."""
    curves, kicks = fit.chances.curves(trial.size, trial.widths_mm), fit.kicks_mJ()
    logs = [float(np.log(max(kicks[curve.stage], 1e-9))) for curve in curves]
    pairs = list(zip(curves, logs, strict=True))
    means = np.array([trial.cans * float(np.exp(curve.log_chance(x))) for curve, x in pairs])
    return means, np.array([float(curve.error_at(x)) for curve, x in pairs]), logs


def by_stage_of(fit: TrialFit, rng: np.random.Generator) -> tuple[StageFit, ...]:
    """Judge each fitted stage by itself, where stages were counted."""
    trials = [trial for trial in fit.used if trial.by_stage]
    if not trials:
        return ()
    told = [_expected(fit, trial) for trial in trials]
    means, errors = (np.array(rows) for rows in list(zip(*told, strict=True))[:2])
    found, fitted = [], fit.energies_mJ()
    for i, stage in enumerate(fit.scenario.stages):
        counts = np.array([trial.stages[i].tipped or 0 for trial in trials], dtype=np.float64)
        if stage.duty not in fitted and not counts.any():
            continue
        draws = drawn_counts(means[:, i], errors[:, i], rng, _DRAWS)
        got = float(deviance(counts, means[:, i], errors[:, i])) / fit.dispersion.factor
        p_value = p_value_of(got, deviance(draws, means[:, i], errors[:, i]))
        expected = float(means[:, i].sum())
        found.append(StageFit(stage.name, int(counts.sum()), expected, p_value))
    return tuple(found)


def places_of(fit: TrialFit, rng: np.random.Generator) -> PlaceTest | None:
    """Test where cans tipped against the model, as far as anybody counted by place."""
    counts, shares, errors = [], [], []
    for trial in fit.used:
        curves = fit.chances.curves(trial.size, trial.widths_mm)
        means, _, logs = _expected(fit, trial)
        for count, curve, log in zip(trial.stages, curves, logs, strict=True):
            if count.by_place and sum(count.by_place) > 0 and not curve.never:
                share, error = shares_of([1.0], [curve], [log])
                counts.append(count.by_place)
                shares.append(share)
                errors.append(error)
        whole = trial.by_place or (0, 0, 0)
        if any(count.by_place is not None for count in trial.stages) or not sum(whole):
            continue
        weights = [count.tipped or 0 for count in trial.stages] if trial.by_stage else means
        if any(weight > 0 for weight in weights):
            share, error = shares_of(list(weights), curves, logs)
            if share.any():
                counts.append(whole)
                shares.append(share)
                errors.append(error)
    if not counts:
        return None
    return place_test(counts, shares, errors, fit.dispersion.factor, rng)
