"""The same passage many times over with other seeds: how many cans tip, and how sure that is."""

from __future__ import annotations

import math
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from multiprocessing.pool import Pool
from threading import current_thread, main_thread

import numpy as np
from numpy.typing import NDArray

from packsim.can import Can
from packsim.check import positive
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.passage.counting import poisson_interval
from packsim.passage.profile import mean_of
from packsim.passage.record import Jam, Profile, Record
from packsim.passage.run import run_passage
from packsim.passage.step import DT_S
from packsim.passage.track import Track, build_track

__all__ = ["OneRun", "Passages", "run_many", "run_tracks"]

Progress = Callable[[float, int], None]
Table = NDArray[np.int64]

LOOK_EVERY_S = 5.0
"""Slack, voids and places across are looked at this often [s]: the mat moves a few cans on."""


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
    def tipped_per_million(self) -> float:
        """Tipped cans per million fed; nan without a can."""
        return 1e6 * int(self.tips.sum()) / self.counted if self.counted else math.nan

    def interval_per_million(self, confidence: float = 0.95) -> tuple[float, float]:
        """Exact Poisson interval of `tipped_per_million`; nan without a can.

        Parameters
        ----------
        confidence : float
            Two-sided, between 0 and 1 [-].
        """
        if not self.counted:
            return math.nan, math.nan
        low, high = poisson_interval(int(self.tips.sum()), confidence)
        return 1e6 * low / self.counted, 1e6 * high / self.counted

    def _sum(self, name: str) -> Table:
        tables = [getattr(run, name) for run in self.runs]
        if not tables:
            return np.zeros((len(self.stages), 0), dtype=np.int64)
        return np.asarray(np.sum(tables, axis=0))


def run_many(
    scenario: Scenario,
    can: Can,
    *,
    cans: int | None = None,
    repeats: int,
    seed: int,
    workers: int = 1,
    dt_s: float = DT_S,
    slice_mm: float | None = None,
    balance_rad: Sequence[float] | None = None,
    support_N: Sequence[float] | None = None,
    can_friction: float = 0.0,
    progress: Progress | None = None,
) -> Passages:
    """Run the same passage many times.

    Parameters
    ----------
    scenario : Scenario
        Mat and stages.
    can : Can
        The can size.
    cans : int or None
        Cans to follow through the line in each run; None with ``slice_mm``.
    repeats : int
        Number of runs.
    seed : int
        Seed of the whole; run i gets the i-th child of ``SeedSequence(seed)``.
    workers : int
        Processes to share the runs; the result does not depend on it.
    dt_s : float
        Length of a step [s].
    balance_rad, support_N, can_friction
        As for `packsim.passage.track.build_track`.
    slice_mm : float, optional
        Follow a periodic slice of this length through the whole line instead of a number of
        cans [mm].
    progress : callable, optional
        Called with runs done and runs asked for. With one worker the runs done are a fraction that
        grows within a run; with more, a whole number that grows when a run is finished.

    Returns
    -------
    Passages
        Also after `KeyboardInterrupt`, with the runs done by then, and marked so.

    Raises
    ------
    InputError
        If a number is not above 0, or a sequence does not fit the stages.
    """
    track = build_track(
        scenario, can, balance_rad=balance_rad, support_N=support_N, can_friction=can_friction
    )
    return run_tracks(
        track,
        can.name,
        cans=cans,
        repeats=repeats,
        seed=seed,
        workers=workers,
        dt_s=dt_s,
        slice_mm=slice_mm,
        progress=progress,
    )


def run_tracks(
    track: Track,
    size: str,
    *,
    cans: int | None = None,
    repeats: int,
    seed: int,
    workers: int = 1,
    dt_s: float = DT_S,
    slice_mm: float | None = None,
    progress: Progress | None = None,
) -> Passages:
    """Run the same passage many times on a track made before; see `run_many`."""
    counts = {"cans": cans, "repeats": repeats, "workers": workers}
    if slice_mm is not None and cans is None:
        del counts["cans"]
    for key, value in counts.items():
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise InputError(key, value, "a whole number above 0")
    positive("dt_s", dt_s)
    jobs = list(enumerate(np.random.SeedSequence(seed).spawn(repeats)))
    work = partial(_run_one, track, cans, slice_mm, dt_s)
    runs: list[OneRun] = []
    interrupted = False
    try:
        for run in _results(work, jobs, min(workers, repeats), progress):
            if run is None:  # stopped from inside the run
                interrupted = True
                break
            runs.append(run)
            if progress is not None:
                progress(len(runs), repeats)
    except KeyboardInterrupt:
        interrupted = True
    runs.sort(key=lambda run: run.number)
    return Passages(size, seed, track.stages, tuple(runs), repeats, interrupted)


_Job = tuple[int, np.random.SeedSequence]


def _results(
    work: Callable[..., OneRun | None],
    jobs: Sequence[_Job],
    workers: int,
    progress: Progress | None,
) -> Iterator[OneRun | None]:
    """Do the jobs here or in other processes; an interrupt leaves none of those behind."""
    if workers == 1:
        for job in jobs:
            yield work(job, None if progress is None else _within(progress, job[0], len(jobs)))
        return
    with _pool(workers) as pool:
        yield from pool.imap_unordered(work, jobs)


def _within(progress: Progress, before: int, of: int) -> Callable[[float], None]:
    """Tell how far all runs are from how far one of them is, short of its end."""
    return lambda share: progress(before + min(share, 0.999), of)


def _pool(workers: int) -> Pool:
    """Start processes that leave Ctrl-C to this one, which ends them.

    An interrupt goes to every process at the terminal. A process that starts while its parent
    ignores interrupts ignores them from its first instruction, so none of them dies with a
    traceback while it is still importing.
    """
    # a fresh process everywhere, so that all systems behave alike
    context = get_context("spawn")
    if current_thread() is not main_thread():  # only there may a signal be set
        return context.Pool(workers, _leave_interrupts_alone)
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        return context.Pool(workers, _leave_interrupts_alone)
    finally:
        signal.signal(signal.SIGINT, before)


def _leave_interrupts_alone() -> None:
    """Let the parent alone answer Ctrl-C, also where that is not handed down."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _run_one(
    track: Track,
    cans: int | None,
    slice_mm: float | None,
    dt_s: float,
    job: _Job,
    progress: Callable[[float], None] | None = None,
) -> OneRun | None:
    """Run one passage; None if it was interrupted."""
    number, seed = job
    record: Record = run_passage(
        track,
        seed=seed,
        cans=cans,
        slice_mm=slice_mm,
        dt_s=dt_s,
        frame_every_s=LOOK_EVERY_S,
        keep_frames=False,
        progress=progress,
    )
    if record.interrupted:
        return None
    return OneRun(
        number,
        record.counted,
        record.counted_tips,
        record.kicks,
        record.across,
        record.profile,
        record.max_overlap_mm,
        record.jams,
        record.reason,
    )
