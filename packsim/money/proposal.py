"""A proposal: what a change of the machine is worth, what it rests on, what would settle it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from packsim.answers import answer_stage
from packsim.answers.misfit import check_fits, misfits, told
from packsim.arrays import Floats
from packsim.compare import Comparison, compare_lines, tip_draws
from packsim.counts.intervals import agreement, per_million_interval
from packsim.doubt import doubt
from packsim.doubt.doubt import Measure
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.money.at_widths import WidthChance, chance_at_widths
from packsim.money.down import Spread, cans_down, rate_draws
from packsim.money.figures import Figures, SizeFigures
from packsim.money.saving import Saving, saving_of
from packsim.trial.chances import Progress, line_at
from packsim.trial.trial import Trial
from packsim.trial.two_rates import cans_to_tell_apart

DRAWS: Final = 10_000
"""Draws of what is not known."""


@dataclass(frozen=True, slots=True)
class Counted:
    """What a trial counted on the changed machine, beside what was foretold of it.

    Parameters
    ----------
    trial : Trial
        The trial.
    foretold : Spread
        Cans down in a million, as foretold for its clear widths.
    down_per_million, down_per_million_interval : float, tuple of float
        Cans down in a million as counted, and the exact interval of that.
    off : Spread
        Counted over foretold; infinite where none was foretold [-].
    saving : Saving
        What is saved if as many are down after the change as the trial counted, with its guides;
        of other sizes as foretold.
    """

    trial: Trial
    foretold: Spread
    down_per_million: float
    down_per_million_interval: tuple[float, float]
    off: Spread
    saving: Saving

    @property
    def agreement(self) -> str:
        """Whether count and forecast agree: see `packsim.counts.intervals.agreement`."""
        return agreement(self.down_per_million_interval, self.foretold.interval)


@dataclass(frozen=True, slots=True)
class MachineProposal:
    """A change of a machine and what it is worth.

    Parameters
    ----------
    comparison : Comparison
        The line as it is, the changed one, then this as each trial had it set.
    saving : Saving
        What is saved, and when it has paid.
    size, stage : str
        Where it is shown: the size that saves most, and the stage where most of its cans tip today.
    widths : tuple of WidthChance
        The chance against clear width.
    measures : tuple of Measure
        What to measure there, what is worth most for a minute first.
    trial_cans, trial_hours : float
        Cans to run on each machine, and hours that takes for both, until a count tells them apart
        in nine cases of ten; infinite where none does.
    counted : tuple of Counted
        Trials of the changed machine.
    """

    comparison: Comparison
    saving: Saving
    size: str
    stage: str
    widths: tuple[WidthChance, ...]
    measures: tuple[Measure, ...]
    trial_cans: float
    trial_hours: float
    counted: tuple[Counted, ...]

    @property
    def before(self) -> Scenario:
        """The line as it is."""
        return self.comparison.lines[0]

    @property
    def after(self) -> Scenario:
        """The line as it would be."""
        return self.comparison.lines[1]


def propose(
    before: Scenario,
    after: Scenario,
    figures: Figures,
    rng: np.random.Generator,
    trials: Sequence[Trial] = (),
    progress: Progress | None = None,
) -> MachineProposal:
    """Return what a change is worth, what it rests on and what would settle it.

    Parameters
    ----------
    before, after : Scenario
        The line as it is and as it would be.
    figures : Figures
        The user's own.
    rng : numpy.random.Generator
        Draws tips, figures and counts.
    trials : sequence of Trial
        Of the changed machine.
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    MachineProposal
        Shown is the size that saves most, and the stage where most of its cans tip today.

    Raises
    ------
    InputError
        If no size of the figures goes through both lines, or a trial is of another size or does not
        go through.
    """
    sizes = [one.size for one in figures.sizes]
    comparison, tips = _side_by_side(before, after, sizes, trials, progress), {}
    for one in comparison.sizes:
        taken = np.array([[chance.tips_per_million for chance in one.chances]])
        tips[one.size] = np.vstack((taken, tip_draws(comparison, one.size, rng, DRAWS)))
    pairs = {size: draws[:, :2] for size, draws in tips.items()}
    save = partial(saving_of, figures, pairs, (_brackets(before), _brackets(after)), rng)
    saving = save()
    shown = max(saving.sizes, key=lambda one: one.saved_cans_per_year.best)
    stages = comparison.size(shown.size).chances[0].stages
    stage = max(stages, key=lambda one: one.tips_per_million).stage
    cans = cans_to_tell_apart(shown.down_before.best, shown.down_after.best)
    per_hour = 60.0 * answer_stage(before, stage, shown.size).flow.cans_per_min
    return MachineProposal(
        comparison=comparison,
        saving=saving,
        size=shown.size,
        stage=stage,
        widths=chance_at_widths(before, after, stage, shown.size, progress),
        measures=doubt(before, shown.size, stage).measures,
        trial_cans=cans,
        trial_hours=2.0 * cans / per_hour if per_hour > 0.0 else math.inf,
        counted=tuple(
            _counted(
                trial,
                next(one for one in figures.sizes if one.size == trial.size),
                tips[trial.size][:, [0, 2 + k]],
                rng,
                save,
            )
            for k, trial in enumerate(trials)
        ),
    )


def _side_by_side(
    before: Scenario,
    after: Scenario,
    sizes: Sequence[str],
    trials: Sequence[Trial],
    progress: Progress | None,
) -> Comparison:
    """Compare a line as it is with the changed one, and with this as each trial had it set."""
    fit, why = [], []
    for size in sizes:
        lines = [line for line in (before, after) if size in [can.name for can in line.sizes]]
        bad = "; ".join(told(found) for line in lines if (found := misfits(line, size)))
        if len(lines) < 2:
            bad = "only one of the lines has it"
        fit += [] if bad else [size]
        why += [f"{size}: {bad}"] if bad else []
    if not fit:
        raise InputError("sizes", "; ".join(why), "a size that goes through both lines")
    named = {"today": before, "after the change": after}
    for k, one in enumerate(trials, start=1):
        if one.size not in fit:
            raise InputError("trial", one.size, f"trials of a size in the sums: {', '.join(fit)}")
        line = named[f"trial {k}: {one.name}"] = line_at(after, one.widths_mm)
        check_fits(line, one.size, "trial")
    return compare_lines(named, fit, progress=progress)


def _brackets(scenario: Scenario) -> int:
    return sum(len(stage.guides.brackets) for stage in scenario.stages)


def _counted(
    trial: Trial,
    own: SizeFigures,
    tips: Floats,
    rng: np.random.Generator,
    save: Callable[[Mapping[str, Floats]], Saving],
) -> Counted:
    """Return a trial beside the forecast, whose tips are those today and as the trial was set."""
    foretold = cans_down(own, tips, rng)[1]
    counted = rate_draws(trial.tipped, trial.cans, rng, foretold.size - 1)
    off = np.divide(counted, foretold, out=np.full(counted.size, np.inf), where=foretold > 0.0)
    return Counted(
        trial=trial,
        foretold=Spread.of(foretold),
        down_per_million=trial.per_million,
        down_per_million_interval=per_million_interval(trial.tipped, trial.cans),
        off=Spread.of(off),
        saving=save({trial.size: counted}),
    )
