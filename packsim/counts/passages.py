"""Many passages taken together, as data: tips, kicks and profiles, with their exact interval."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from packsim.arrays import Ints
from packsim.counts.clusters import Cluster
from packsim.counts.intervals import dispersion_of, per_million_interval
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
    clusters : tuple of Cluster
        Tips of those cans that hang together.
    waiting : int
        Cans the infeed could not place because the pack was held up before it.
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
    clusters: tuple[Cluster, ...] = ()
    waiting: int = 0


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
        How many there were to be.
    interrupted : bool
        Whether the user stopped before all were done.
    whole_line : bool
        Whether they were followed through a line full of cans; otherwise each run is a slice that
        repeats along travel.
    unwritten : str
        Why runs that finished are not in the file they were to be kept in, or empty.
    """

    size: str
    seed: int
    stages: tuple[str, ...]
    runs: tuple[OneRun, ...]
    asked: int
    interrupted: bool
    whole_line: bool = False
    unwritten: str = ""

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
    def clusters(self) -> tuple[Cluster, ...]:
        """Tips that hang together, run by run."""
        return tuple(cluster for run in self.runs for cluster in run.clusters)

    @property
    def first_tips(self) -> tuple[int, ...]:
        """Tips of cans that stood beside none that was down, stage by stage."""
        stages = [cluster.stage for cluster in self.clusters]
        return tuple(stages.count(i) for i in range(len(self.stages)))

    @property
    def further_tips_per_first(self) -> float:
        """Tips beside a can that is down, for each tip that is not; nan without a tip."""
        first = len(self.clusters)
        return (int(self.tips.sum()) - first) / first if first else math.nan

    @property
    def disturbed_mm(self) -> float:
        """Longest length of pack that one cluster disturbs [mm]."""
        return max((cluster.length_mm for cluster in self.clusters), default=0.0)

    @property
    def waiting(self) -> int:
        """Cans the infeed could not place in time, all runs together."""
        return sum(run.waiting for run in self.runs)

    @property
    def dispersion(self) -> float:
        """Variance over mean of the tips of a run, at least 1 [-]."""
        counts = [int(run.tips.sum()) for run in self.runs]
        return dispersion_of(counts, [cluster.tips for cluster in self.clusters])

    @property
    def tips_per_million(self) -> float:
        """Tipped cans per million fed; nan without a can."""
        return 1e6 * int(self.tips.sum()) / self.counted if self.counted else math.nan

    @property
    def tips_per_million_interval(self) -> tuple[float, float]:
        """95 % interval of `tips_per_million`, as `interval_per_million`."""
        return self.interval_per_million(int(self.tips.sum()))

    def interval_per_million(self, tips: int) -> tuple[float, float]:
        """Return the 95 % interval of a number of tips among the cans; nan without a can.

        Exact where tips come singly, and widened by `dispersion` where they come in clusters.
        """
        if not self.counted:
            return math.nan, math.nan
        return per_million_interval(tips, self.counted, dispersion=self.dispersion)

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
