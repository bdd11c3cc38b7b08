"""What a trial plan is made of: the room at each stage, settings, comparisons."""

import math
from dataclasses import dataclass
from typing import Final

from packsim.line import Scenario
from packsim.width.guide_window import GuideWindow

LONGEST_H: Final = 200.0
"""Beyond it a trial takes too long to be run: over a week by day and night. Assumed [h]."""


@dataclass(frozen=True, slots=True)
class StageRoom:
    """What may be tried at one stage.

    Parameters
    ----------
    stage : str
        Its name.
    now_mm : float
        Clear width as set [mm].
    window : GuideWindow
        Clear widths that suit it.
    last_safe_mm : float
        Clear width whose loosest case is just the safe slack; nothing beyond is recommended [mm].
    now_past_safe : bool
        Whether the loosest case of the lanes judged as set now is past their safe slack.
    """

    stage: str
    now_mm: float
    window: GuideWindow
    last_safe_mm: float
    now_past_safe: bool

    @property
    def window_mm(self) -> tuple[float, float] | None:
        """Both ends of the guide window; None when it is empty [mm]."""
        return self.window.ends_mm

    @property
    def none_safe(self) -> bool:
        """Whether not even the tightest setting that fits stays within the safe slack."""
        return self.window.low_mm > self.last_safe_mm


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the line to run.

    Parameters
    ----------
    name, why : str
        A letter, and what it is for.
    widths_mm : tuple of float
        Clear width of every stage [mm].
    tips_per_million : float
        Tips a passage at these widths expects with the kicks as they are [tips per million]; nan
        where the size does not fit.
    tips_per_million_interval : tuple of float
        Its 95 % interval, from the repeats of the passage.
    recommended : bool
        False for the line as found where that is past the safe slack or does not fit.
    """

    name: str
    why: str
    widths_mm: tuple[float, ...]
    tips_per_million: float
    tips_per_million_interval: tuple[float, float]
    recommended: bool

    @property
    def fits(self) -> bool:
        """Whether the size fits at all."""
        return not math.isnan(self.tips_per_million)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Cans to run at each of two settings so that their rates are told apart.

    Parameters
    ----------
    what : str
        What is compared.
    first_tips_per_million, second_tips_per_million : float
        Rates taken for it.
    cans_at_each : float
        Cans at each; infinite where the rates are equal.
    """

    what: str
    first_tips_per_million: float
    second_tips_per_million: float
    cans_at_each: float


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """A plan for a trial of one size.

    Parameters
    ----------
    scenario : Scenario
        The line.
    size : str
        Name of the can size.
    stages : tuple of StageRoom
        What may be tried where.
    settings : tuple of Setting
        What to run; the first is the line as found.
    comparisons : tuple of Comparison
        Cans to tell settings apart.
    quiet : tuple of (float, float)
        Rate per million, and the cans without a tip that rule it out at 95 %.
    cans_per_min : float
        Throughput, to turn cans into hours.
    power, alpha : float
        Chance to find a difference, and of a false alarm.
    notes : tuple of str
        What to know before the trial.
    """

    scenario: Scenario
    size: str
    stages: tuple[StageRoom, ...]
    settings: tuple[Setting, ...]
    comparisons: tuple[Comparison, ...]
    quiet: tuple[tuple[float, float], ...]
    cans_per_min: float
    power: float
    alpha: float
    notes: tuple[str, ...]

    def hours(self, cans: float) -> float:
        """Hours of running a number of cans takes; infinite with no cans on the mat."""
        return cans / (60.0 * self.cans_per_min) if self.cans_per_min > 0.0 else math.inf
