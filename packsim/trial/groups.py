"""What a fit of kick energies is made of: one group for each unknown, and all of them together."""

from collections.abc import Mapping
from dataclasses import dataclass

from numpy.typing import ArrayLike

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.passage.counting import poisson_interval
from packsim.trial.likelihood import CountTable, Estimate, Observation
from packsim.trial.predict import Prediction, predict
from packsim.trial.quality import Quality
from packsim.trial.stage_case import LineCases
from packsim.trial.trial import Trial


@dataclass(frozen=True, slots=True)
class FittedEnergy:
    """Mean kick energy of one duty.

    Parameters
    ----------
    duty : str
        Its name.
    before_mJ : float
        Energy before the fit [mJ].
    energy_mJ, low_mJ, high_mJ : float or None
        Fitted value and its interval; None where the counts do not tell [mJ].
    """

    duty: str
    before_mJ: float
    energy_mJ: float | None
    low_mJ: float | None
    high_mJ: float | None


@dataclass(frozen=True, slots=True)
class TrialCount:
    """One trial as a rate.

    Parameters
    ----------
    trial : Trial
        The trial.
    tips_per_million : float
        Tips per million.
    tips_per_million_interval : tuple of float
        Exact Poisson interval of it, with the confidence of the fit.
    used : bool
        Whether the fit could use it.
    """

    trial: Trial
    tips_per_million: float
    tips_per_million_interval: tuple[float, float]
    used: bool


@dataclass(frozen=True, slots=True, eq=False)
class GroupFit:
    """The fit of one unknown: the kick energy of a duty, or a factor on all of them.

    Parameters
    ----------
    duties : tuple of str
        Duties it holds for.
    common : bool
        True for a factor on the energies of several duties.
    base_mJ : tuple of float
        Energy of each duty before the fit; the unknown times this, or the unknown itself [mJ].
    estimate : Estimate or None
        Result; None where the counts say nothing about it.
    quality : Quality or None
        Agreement of the counts with the fit.
    observations : tuple of Observation
        Counts used.
    table : CountTable or None
        Expected counts against the unknown.
    ruled_out : tuple of Observation
        Counts with tips that the model rules out; they could not be used.
    """

    duties: tuple[str, ...]
    common: bool
    base_mJ: tuple[float, ...]
    estimate: Estimate | None
    quality: Quality | None
    observations: tuple[Observation, ...]
    table: CountTable | None
    ruled_out: tuple[Observation, ...]

    @property
    def status(self) -> str:
        """``fitted``, ``upper limit``, ``beyond the model`` or ``no information``."""
        return "no information" if self.estimate is None else self.estimate.status

    @property
    def tipped(self) -> int:
        """Tips used."""
        return sum(one.tipped for one in self.observations)

    @property
    def settings(self) -> int:
        """How many different settings the counts used come from."""
        return len({tuple(c.case.clear_width_mm for c in o.curves) for o in self.observations})

    @property
    def tips_ruled_out(self) -> int:
        """Tips that the model rules out; they could not be used."""
        return sum(one.tipped for one in self.ruled_out)

    @property
    def energies(self) -> tuple[FittedEnergy, ...]:
        """Kick energy of each duty."""
        result = self.estimate
        found = []
        for duty, base in zip(self.duties, self.base_mJ, strict=True):
            if result is None:
                found.append(FittedEnergy(duty, base, None, None, None))
                continue
            best = self.energy_mJ(duty) if result.status == "fitted" else None
            ends = (self.energy_mJ(duty, end) for end in (result.low, result.high))
            found.append(FittedEnergy(duty, base, best, *ends))
        return tuple(found)

    def touches(self, duty: str) -> bool:
        """Whether any count used depends on the kicks of a duty."""
        curves = (curve for one in self.observations for curve in one.curves)
        return any(c.case.duty == duty and not c.says_nothing for c in curves)

    def energy_mJ(self, duty: str, unknown: float | None = None) -> float:
        """Kick energy of a duty for a value of the unknown, by default the fitted one [mJ]."""
        if unknown is None:
            if self.estimate is None:
                raise InputError("unknown", None, "a value, for a group that was not fitted")
            unknown = self.estimate.best
        return unknown * (self.base_mJ[self.duties.index(duty)] if self.common else 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class TrialFit:
    """Everything trials say about a line.

    Parameters
    ----------
    scenario : Scenario
        The line.
    trials : tuple of Trial
        The trials, as given.
    sharing, slack_case : str
        How slack lies in a row, and which slack it has; see `SHARINGS` and `SLACK_CASES`.
    confidence : float
        Of all intervals [-].
    common : bool
        Whether one factor was fitted for all duties.
    groups : tuple of GroupFit
        One for each unknown.
    left_out : tuple of Trial
        Trials not used because their tips have no stage and duties were asked for one by one.
    lines : mapping of LineCases
        Stage cases by size, kept because their spray loads take time.
    """

    scenario: Scenario
    trials: tuple[Trial, ...]
    sharing: str
    slack_case: str
    confidence: float
    common: bool
    groups: tuple[GroupFit, ...]
    left_out: tuple[Trial, ...]
    lines: Mapping[str, LineCases]

    @property
    def counts(self) -> tuple[TrialCount, ...]:
        """Every trial as a rate, with its interval."""
        found = []
        for trial in self.trials:
            low, high = poisson_interval(trial.tipped, self.confidence)
            ends = 1e6 * low / trial.cans, 1e6 * high / trial.cans
            found.append(TrialCount(trial, trial.per_million, ends, trial not in self.left_out))
        return tuple(found)

    def line(self, size: str) -> LineCases:
        """Return the stage cases of a size."""
        return self.lines.get(size) or LineCases(self.scenario, size, self.slack_case)

    def predict(self, size: str, widths_mm: ArrayLike) -> Prediction:
        """Return the tips to be expected with fitted energies, assumed ones where there is none."""
        line = self.line(size)
        energies = self.energies_mJ()
        return predict(self.scenario, size, widths_mm, energies, sharing=self.sharing, line=line)

    def group(self, duty: str) -> GroupFit:
        """Return the group a duty belongs to."""
        return next(group for group in self.groups if duty in group.duties)

    def energies_mJ(self) -> dict[str, float]:
        """Fitted kick energies by duty; duties the counts do not touch are left out [mJ]."""
        return {
            duty: group.energy_mJ(duty)
            for group in self.groups
            if group.status == "fitted"
            for duty in group.duties
            if group.touches(duty)
        }
