"""Fit the kick energies of a line to trials.

A stage's expected tips are cans × the chance in a passage at the trial's own clear widths; its kick
energy is shared by all stages of its duty. Where tips were counted by stage, each duty is fitted by
itself. Where they were not, only one number can be told: a common factor on the energies the
scenario has now.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.chance.likelihood import Observation, estimate, table_of, with_errors
from packsim.errors import InputError, one_of
from packsim.line import Scenario
from packsim.trial.chances import Chances, Progress
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.judge import by_stage_of, counts_of, places_of
from packsim.trial.quality import Dispersion, dispersion_of, quality_of
from packsim.trial.trial import Trial

GROUPINGS: Final = ("auto", "duty", "common")
"""A kick energy for each duty, one factor for all, or whichever the counts allow."""


def present_energies(scenario: Scenario) -> dict[str, float]:
    """Kick energy of each duty as the scenario has it, mean over its stages by length [mJ].

    Examples
    --------
    >>> from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
    >>> from packsim.catalogue import custom_can
    >>> guides = Guides((Bracket(0.0, 100.0, 706.0),), Wires((90.0,), 600.0, 0.05, 1.3e6))
    >>> stages = [Stage(n, "flood", x, guides, Kicks(e, 2.0)) for n, x, e in
    ...           (("a", 1000.0, 0.05), ("b", 3000.0, 0.09))]
    >>> can = custom_can("demo", 66.0, 124.0)
    >>> present_energies(Scenario("demo", "", Mat(900.0, 90.0), tuple(stages), (can,), "demo"))
    {'flood': 0.08}
    """
    sums: dict[str, tuple[float, float]] = {}
    for stage in scenario.stages:
        total, length = sums.get(stage.duty, (0.0, 0.0))
        total += stage.kicks.energy_mJ * stage.length_mm
        sums[stage.duty] = (total, length + stage.length_mm)
    return {duty: total / length for duty, (total, length) in sums.items()}


def fit_trials(
    scenario: Scenario,
    trials: Sequence[Trial],
    *,
    grouping: str = "auto",
    confidence: float = 0.95,
    progress: Progress | None = None,
) -> TrialFit:
    """Fit kick energies by maximum likelihood of the counts.

    Parameters
    ----------
    scenario : Scenario
        The line the trials were run on.
    trials : sequence of Trial
        At least one.
    grouping : {"auto", "duty", "common"}
        ``auto`` fits each duty if every tip has a stage, a common factor otherwise.
    confidence : float
        Of the intervals [-].
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    TrialFit
        A group that the counts say nothing about is a result, not an error.

    Raises
    ------
    InputError
        If there is no trial, one names a size or stage the scenario does not have, or its guides do
        not hold the cans.

    Notes
    -----
    Kick rate and kick energy act together, so the rate is held at the scenario's value: the pair is
    what is calibrated. Counts are taken as few against the cans passed: a can tipped early is not
    taken from those a later stage gets. Where in a row cans tip hardly depends on the energy, so
    counts by place test the model and do not move the fit.
    """
    fit = fit_energies(scenario, trials, Chances(scenario, progress), grouping, confidence)
    # once more with as many repeats as the fitted kicks ask for, not those of the scenario
    fit = fit_energies(scenario, trials, Chances(fit.line, progress), grouping, confidence)
    fit = replace(fit, chances=Chances(fit.line, progress))
    rng = np.random.default_rng(np.random.SeedSequence(scenario.seed))
    how = "common" if fit.common else "duty"
    without = [
        fit_energies(scenario, others, fit.chances, how, confidence)
        if (others := [one for one in fit.used if one is not trial]) and trial in fit.used
        else None
        for trial in fit.trials
    ]
    return replace(
        fit,
        groups=tuple(_with_quality(group, rng) for group in fit.groups),
        places=places_of(fit, rng),
        counts=counts_of(fit, without),
        by_stage=by_stage_of(fit, rng),
    )


def fit_energies(
    scenario: Scenario,
    trials: Sequence[Trial],
    chances: Chances,
    grouping: str = "auto",
    confidence: float = 0.95,
) -> TrialFit:
    """Fit as `fit_trials` does, without a word on how well, to the passages given."""
    one_of("grouping", grouping, GROUPINGS)
    if not trials:
        raise InputError("trials", "none", "at least one trial")
    for trial in trials:
        scenario.size(trial.size)
    common = grouping == "common" or (
        grouping == "auto" and not all(trial.by_stage for trial in trials)
    )
    used = [trial for trial in trials if common or trial.by_stage]
    base = present_energies(scenario)
    groups = []
    for members in (tuple(base),) if common else [(duty,) for duty in base]:
        found = list(_observations(scenario, used, chances, members, base if common else None))
        groups.append(_group(members, common, base, found, confidence))
    dispersion = dispersion_of(
        [
            (g.table, [one.tipped for one in g.observations], g.estimate.best)
            for g in groups
            if g.table is not None and g.estimate is not None and g.status == "fitted"
        ]
    )
    return TrialFit(
        scenario=scenario,
        trials=tuple(trials),
        confidence=confidence,
        common=common,
        groups=tuple(_widened(group, dispersion, confidence) for group in groups),
        left_out=tuple(trial for trial in trials if trial not in used),
        chances=chances,
        dispersion=dispersion,
    )


def _observations(
    scenario: Scenario,
    trials: Sequence[Trial],
    chances: Chances,
    duties: tuple[str, ...],
    base: dict[str, float] | None,
) -> Iterable[Observation]:
    """Yield a count for every stage, or for the whole line where stages were not counted."""
    for t, trial in enumerate(trials):
        counts = {count.stage: count.tipped or 0 for count in trial.stages}
        curves = chances.curves(trial.size, trial.widths_mm)
        mine = [
            (curve, 0.0 if base is None else math.log(max(base[curve.duty], 1e-9)))
            for curve in curves
            if curve.duty in duties
        ]
        if trial.by_stage:
            for curve, offset in mine:
                yield Observation(t, trial.cans, counts[curve.stage], (curve,), (offset,))
        else:
            found, offsets = zip(*mine, strict=True)
            yield Observation(t, trial.cans, trial.tipped, found, offsets)


def _group(
    duties: tuple[str, ...],
    common: bool,
    base: dict[str, float],
    found: list[Observation],
    confidence: float,
) -> GroupFit:
    used = tuple(one for one in found if not one.says_nothing)
    table, result = None, None
    if used:
        counts = [one.tipped for one in used]
        table = with_errors(table_of(used), counts)
        result = estimate(table, counts, confidence)
    return GroupFit(
        duties=duties,
        common=common,
        base_mJ=tuple(base[duty] for duty in duties),
        estimate=result,
        quality=None,
        observations=used,
        table=table,
        ruled_out=tuple(one for one in found if one.never and one.tipped),
    )


def _widened(group: GroupFit, dispersion: Dispersion, confidence: float) -> GroupFit:
    """Return a group with the interval that counts spread so widely allow."""
    if group.table is None or group.status != "fitted":
        return group
    counts, factor = [one.tipped for one in group.observations], dispersion.widening(confidence)
    return replace(group, estimate=estimate(group.table, counts, confidence, factor))


def _with_quality(group: GroupFit, rng: np.random.Generator) -> GroupFit:
    if group.table is None or group.estimate is None or group.status != "fitted":
        return group
    counts = [one.tipped for one in group.observations]
    return replace(group, quality=quality_of(group.table, counts, group.estimate.best, rng))
