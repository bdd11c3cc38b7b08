"""What a fit of kick energies is made of: one group for each unknown, and all of them together."""

import math
from dataclasses import dataclass

from packsim.chance.likelihood import CountTable, Estimate, Observation
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.chances import Chances, with_kicks
from packsim.trial.places import PlaceTest
from packsim.trial.quality import Dispersion, Quality, StageFit
from packsim.trial.trial import Trial, TrialCount


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
    def told(self) -> bool:
        """Whether the counts say anything that can be carried to another setting."""
        return self.status in ("fitted", "upper limit")

    @property
    def tipped(self) -> int:
        """Tips used."""
        return sum(one.tipped for one in self.observations)

    @property
    def settings(self) -> int:
        """How many different settings the counts used come from."""
        widths: dict[str, set[float]] = {}
        for curve in (curve for one in self.observations for curve in one.curves):
            widths.setdefault(curve.stage, set()).add(curve.clear_width_mm)
        return max(map(len, widths.values()), default=0)

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
        return any(c.duty == duty and not c.says_nothing for c in curves)

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
    confidence : float
        Of all intervals [-].
    common : bool
        Whether one factor was fitted for all duties.
    groups : tuple of GroupFit
        One for each unknown.
    left_out : tuple of Trial
        Trials not used because their tips have no stage and duties were asked for one by one.
    chances : Chances
        Passages of the line with the fitted kicks.
    dispersion : Dispersion
        How much more the counts vary than chance alone lets them; widens every interval.
    places : PlaceTest or None
        Counts by place against the model; None where nobody counted by place.
    counts : tuple of TrialCount
        Every trial as a rate, against the fit and against a fit to the others.
    by_stage : tuple of StageFit
        Each fitted stage, where stages were counted.
    """

    scenario: Scenario
    trials: tuple[Trial, ...]
    confidence: float
    common: bool
    groups: tuple[GroupFit, ...]
    left_out: tuple[Trial, ...]
    chances: Chances
    dispersion: Dispersion
    places: PlaceTest | None = None
    counts: tuple[TrialCount, ...] = ()
    by_stage: tuple[StageFit, ...] = ()

    @property
    def line(self) -> Scenario:
        """The line with the kicks of `kicks_mJ`."""
        return with_kicks(self.scenario, self.kicks_mJ())

    @property
    def used(self) -> tuple[Trial, ...]:
        """Trials the fit rests on."""
        return tuple(trial for trial in self.trials if trial not in self.left_out)

    @property
    def contradicted(self) -> str:
        """Why nothing is to be forecast from this fit; empty where it may be."""
        if self.places is None or not self.places.contradicts:
            return ""
        return f"where cans tipped contradicts the model: {self.places.look_at}"

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

    def kicks_mJ(self) -> dict[str, float]:
        """Kick energy of every stage [mJ].

        Fitted where the counts tell; else as it was, but no more than an upper limit allows.
        """
        fitted, found = self.energies_mJ(), {}
        for stage in self.scenario.stages:
            group, most = self.group(stage.duty), math.inf
            if group.estimate is not None and group.status == "upper limit":
                most = group.energy_mJ(stage.duty, group.estimate.upper_limit)
            found[stage.name] = fitted.get(stage.duty, min(stage.kicks.energy_mJ, most))
        return found
