"""Many passages taken together, as data: tips, kicks and profiles, with their exact interval."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from packsim.arrays import Ints
from packsim.passage.counting import poisson_interval
from packsim.passage.profile import mean_or_nan
from packsim.passage.record import Jam, Profile

Table = Ints


@dataclass(frozen=True, slots=True, eq=False)
class OneRun:
    """What is kept of one passage among many.

    Parameters
    ----------
    number : int
        Which of the runs it is, from 0.
    counted : int
        Cans followed from infeed to discharge.
    tips, kicks : ndarray of int64, shape (k, 3)
        Tips of those cans, and kicks on all cans, by stage and place.
    across : ndarray of int64, shape (k, b)
        Standing cans by stage and share of the free clear width.
    profile : Profile or None
        Slack and voids along the line.
    max_overlap_mm : float
        Worst overlap left anywhere [mm].
    jams : tuple of Jam
        Stages that jammed.
    reason : str
        Why no can could be fed, or empty.
    """

    number: int
    counted: int
    tips: Table
    kicks: Table
    across: Table
    profile: Profile | None
    max_overlap_mm: float
    jams: tuple[Jam, ...]
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Passages:
    """Many passages taken together.

    Parameters
    ----------
    size : str
        Name of the can size.
    seed : int
        Seed of the whole.
    stages : tuple of str
        Names of the k stages.
    runs : tuple of OneRun
        The runs that finished, in order.
    asked : int
        How many were asked for.
    interrupted : bool
        Whether the user stopped before all were done.
    """

    size: str
    seed: int
    stages: tuple[str, ...]
    runs: tuple[OneRun, ...]
    asked: int
    interrupted: bool

    @property
    def counted(self) -> int:
        """Cans followed from infeed to discharge, all runs together."""
        return sum(run.counted for run in self.runs)

    @property
    def tips(self) -> Table:
        """Tips of those cans by stage and place, shape (k, 3)."""
        return self._sum("tips")

    @property
    def kicks(self) -> Table:
        """Kicks by stage and place, shape (k, 3)."""
        return self._sum("kicks")

    @property
    def across(self) -> Table:
        """Standing cans by stage and share of the free clear width, shape (k, b)."""
        return self._sum("across")

    @property
    def profile(self) -> Profile | None:
        """Slack and voids along the line, the mean of all runs; None without one."""
        profiles = [run.profile for run in self.runs if run.profile is not None]
        return mean_of(profiles) if profiles else None

    @property
    def max_overlap_mm(self) -> float:
        """Worst overlap left in any run [mm]."""
        return max((run.max_overlap_mm for run in self.runs), default=0.0)

    @property
    def tips_per_million(self) -> float:
        """Tipped cans per million fed; nan without a can."""
        return 1e6 * int(self.tips.sum()) / self.counted if self.counted else math.nan

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """Exact 95 % Poisson interval of `tips_per_million`; nan without a can."""
        if not self.counted:
            return math.nan, math.nan
        low, high = poisson_interval(int(self.tips.sum()), 0.95)
        return 1e6 * low / self.counted, 1e6 * high / self.counted

    def _sum(self, name: str) -> Table:
        tables = [getattr(run, name) for run in self.runs]
        if not tables:
            return np.zeros((len(self.stages), 0), dtype=np.int64)
        return np.asarray(np.sum(tables, axis=0))


def mean_of(profiles: Sequence[Profile]) -> Profile:
    """Return the mean of profiles of one line, window by window.

    Parameters
    ----------
    profiles : sequence of Profile
        At least one, all with the same windows.

    Returns
    -------
    Profile
        A window that a profile saw no can in is left out of its mean, and nan where none did.
    """
    means = {}
    for field in fields(Profile):
        rows = np.stack([getattr(profile, field.name) for profile in profiles])
        seen = np.isfinite(rows)
        means[field.name] = mean_or_nan(np.where(seen, rows, 0.0).sum(axis=0), seen.sum(axis=0))
    return Profile(**means)
