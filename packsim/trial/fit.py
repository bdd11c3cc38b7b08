"""Fit the kick energies of a line to trials.

A stage's expected tips are cans × the chance of the row model; its kick energy is shared by all
stages of its duty. Where tips were counted by stage, each duty is fitted by itself. Where they were
not, only one number can be told: a common factor on the energies the scenario has now.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np

from packsim.errors import InputError, one_of
from packsim.line import Scenario
from packsim.trial.curves import Curve, curve_of
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.likelihood import Observation, estimate, table_of
from packsim.trial.quality import quality_of
from packsim.trial.stage_case import LineCases
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
    sharing: str = "spread",
    slack_case: str = "set",
    confidence: float = 0.95,
) -> TrialFit:
    """Fit kick energies by maximum likelihood of Poisson counts.

    Parameters
    ----------
    scenario : Scenario
        The line the trials were run on.
    trials : sequence of Trial
        At least one.
    grouping : {"auto", "duty", "common"}
        ``auto`` fits each duty if every tip has a stage, a common factor otherwise.
    sharing : {"spread", "gathered"}
        How slack lies in a row.
    slack_case : {"set", "loosest"}
        Which slack the rows have.
    confidence : float
        Of the intervals [-].

    Returns
    -------
    TrialFit
        A group that the counts say nothing about is a result, not an error.

    Raises
    ------
    InputError
        If there is no trial, or one names a size or stage the scenario does not have.

    Notes
    -----
    Kick rate and kick energy act through rate × dwell × exp(−E/E_k) only, so the rate is held at
    the scenario's value: the pair is what is calibrated. Counts are taken as few against the cans
    passed: a can tipped early is not taken from those a later stage gets.
    """
    one_of("grouping", grouping, GROUPINGS)
    if not trials:
        raise InputError("trials", "none", "at least one trial")
    whole = all(trial.by_stage for trial in trials)
    common = grouping == "common" or (grouping == "auto" and not whole)
    used = [trial for trial in trials if common or trial.by_stage]
    left_out = tuple(trial for trial in trials if trial not in used)
    lines = {can.name: LineCases(scenario, can.name, slack_case) for can in scenario.sizes}
    curves = _all_curves(scenario, used, sharing, lines)
    base = present_energies(scenario)
    duties = tuple(base)
    rng = np.random.default_rng(np.random.SeedSequence(scenario.seed))
    groups = []
    for members in (duties,) if common else [(duty,) for duty in duties]:
        found = list(_observations(scenario, used, curves, members, base if common else None))
        groups.append(_fit_group(members, common, base, found, confidence, rng))
    return TrialFit(
        scenario=scenario,
        trials=tuple(trials),
        sharing=sharing,
        slack_case=slack_case,
        confidence=confidence,
        common=common,
        groups=tuple(groups),
        left_out=left_out,
        lines=lines,
    )


def _all_curves(
    scenario: Scenario, trials: Sequence[Trial], sharing: str, lines: Mapping[str, LineCases]
) -> list[list[Curve]]:
    """Return the curve of every stage in every trial."""
    for trial in trials:
        if trial.size not in lines:
            raise InputError("size", repr(trial.size), "one of " + ", ".join(lines))
    return [
        [
            curve_of(lines[trial.size].case(i, trial.width_mm(stage.name)), sharing)
            for i, stage in enumerate(scenario.stages)
        ]
        for trial in trials
    ]


def _observations(
    scenario: Scenario,
    trials: Sequence[Trial],
    curves: list[list[Curve]],
    duties: tuple[str, ...],
    base: dict[str, float] | None,
) -> Iterable[Observation]:
    """Yield a count for every stage, or for the whole line where stages were not counted."""
    for t, trial in enumerate(trials):
        counts = {count.stage: count.tipped or 0 for count in trial.stages}
        mine = [
            (curve, 0.0 if base is None else math.log(max(base[stage.duty], 1e-9)), stage.name)
            for curve, stage in zip(curves[t], scenario.stages, strict=True)
            if stage.duty in duties
        ]
        if trial.by_stage:
            for curve, offset, name in mine:
                yield Observation(t, trial.cans, counts[name], (curve,), (offset,))
        else:
            found, offsets, _ = zip(*mine, strict=True)
            yield Observation(t, trial.cans, trial.tipped, found, offsets)


def _fit_group(
    duties: tuple[str, ...],
    common: bool,
    base: dict[str, float],
    found: list[Observation],
    confidence: float,
    rng: np.random.Generator,
) -> GroupFit:
    ruled_out = tuple(one for one in found if one.never and one.tipped)
    used = tuple(one for one in found if not one.says_nothing)
    table, result, quality = None, None, None
    if used:
        table, counts = table_of(used), [one.tipped for one in used]
        result = estimate(table, counts, confidence)
        if result.status == "fitted":
            quality = quality_of(table, counts, result.best, rng)
    return GroupFit(
        duties=duties,
        common=common,
        base_mJ=tuple(base[duty] for duty in duties),
        estimate=result,
        quality=quality,
        observations=used,
        table=table,
        ruled_out=ruled_out,
    )
