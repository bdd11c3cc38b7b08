"""A trial: a guide setting tried on the floor, the cans that passed, the cans that tipped."""

import datetime as dt
from dataclasses import dataclass

from packsim.errors import InputError, count, non_negative, positive


@dataclass(frozen=True, slots=True)
class StageCount:
    """What one trial says about one stage.

    Parameters
    ----------
    stage : str
        Name of the stage.
    clear_width_mm : float
        Clear width there during the trial [mm].
    tipped : int or None
        Cans tipped in it; None where nobody counted by stage.
    by_place : tuple of int or None
        These at the left edge, in the centre and at the right edge, as far as known.
    """

    stage: str
    clear_width_mm: float
    tipped: int | None = None
    by_place: tuple[int, int, int] | None = None

    def __post_init__(self) -> None:
        positive("clear_width_mm", self.clear_width_mm)
        if self.tipped is not None:
            count("tipped", self.tipped)


@dataclass(frozen=True, slots=True)
class Trial:
    """One setting tried.

    Parameters
    ----------
    name : str
        What to call it.
    date : datetime.date
        Day it was run.
    size : str
        Name of the can size.
    cans : int
        Cans passed.
    tipped : int
        Cans tipped, all stages together.
    stages : tuple of StageCount
        Every stage of the line, in order.
    by_place : tuple of int or None
        Cans tipped at the left edge, in the centre and at the right edge, as far as known.
    line : str
        Which line it was, if there are several.
    remarks : str
        Anything worth knowing.
    """

    name: str
    date: dt.date
    size: str
    cans: int
    tipped: int
    stages: tuple[StageCount, ...]
    by_place: tuple[int, int, int] | None = None
    line: str = ""
    remarks: str = ""

    def __post_init__(self) -> None:
        if count("cans", self.cans) < 1:
            raise InputError("cans", self.cans, "at least 1 can passed")
        if count("tipped", self.tipped) > self.cans:
            raise InputError("tipped", self.tipped, f"no more than the {self.cans} cans passed")
        located = sum(stage.tipped or 0 for stage in self.stages)
        if located > self.tipped:
            raise InputError("tipped", self.tipped, f"at least the {located} counted by stage")
        for tipped in self.by_place or ():
            non_negative("by_place", tipped)
        if sum(self.by_place or ()) > self.tipped:
            allowed = f"together no more than the {self.tipped} tipped"
            raise InputError("by_place", self.by_place, allowed)

    @property
    def by_stage(self) -> bool:
        """Whether every tipped can has a stage."""
        return self.tipped == sum(stage.tipped or 0 for stage in self.stages)

    @property
    def widths_mm(self) -> tuple[float, ...]:
        """Clear width of every stage [mm]."""
        return tuple(one.clear_width_mm for one in self.stages)

    @property
    def per_million(self) -> float:
        """Cans tipped in a million."""
        return 1e6 * self.tipped / self.cans

    def width_mm(self, stage: str) -> float:
        """Return the clear width at a stage [mm]; raise `InputError` if it is not in the trial."""
        for one in self.stages:
            if one.stage == stage:
                return one.clear_width_mm
        raise InputError("stage", repr(stage), "one of " + ", ".join(c.stage for c in self.stages))


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
    expected : float
        Cans the fitted model lets tip [-].
    from_others : tuple of int or None
        Least and most a fit to the other trials lets one count here; None where they cannot tell.
    swapped : tuple of str
        Two stages whose counts fit the other trials far better the other way round; or empty.
    """

    trial: Trial
    tips_per_million: float
    tips_per_million_interval: tuple[float, float]
    used: bool
    expected: float
    from_others: tuple[int, int] | None = None
    swapped: tuple[str, ...] = ()

    @property
    def odd(self) -> bool:
        """Whether the other trials lead to another count."""
        if self.from_others is None:
            return False
        return not self.from_others[0] <= self.trial.tipped <= self.from_others[1]
