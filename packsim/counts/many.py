"""The same passage many times over with other seeds: how many cans tip, and how sure that is."""

import signal
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from multiprocessing import get_context
from multiprocessing.pool import Pool
from threading import current_thread, main_thread

import numpy as np

from packsim.counts.clusters import clusters_of
from packsim.counts.passages import OneRun, Passages
from packsim.errors import InputError, positive
from packsim.passage.record import Record
from packsim.passage.run import run_passage
from packsim.passage.step import DT_S
from packsim.passage.track import Track

Progress = Callable[[float, int], None]

LOOK_EVERY_S = 5.0
"""Slack, voids and places across are looked at this often [s]: the mat moves a few cans on."""


def run_many(
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
    """Run the same passage many times on a track.

    Parameters
    ----------
    track : Track
        The line of one can size.
    size : str
        Its name.
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
        If a number is not above 0.
    """
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
    return Passages(
        size=size,
        seed=seed,
        stages=track.stages,
        runs=tuple(runs),
        asked=repeats,
        interrupted=interrupted,
    )


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
    counted = [e for e in record.events if 0 <= e.can - record.first_counted < record.counted]
    lies = "lies across" in track.tipped
    body_mm = track.standing.height_mm if lies else track.diameter_mm
    return OneRun(
        number=number,
        counted=record.counted,
        tips=record.counted_tips,
        kicks=record.kicks,
        across=record.across,
        profile=record.profile,
        max_overlap_mm=record.max_overlap_mm,
        jams=record.jams,
        reason=record.reason,
        clusters=clusters_of(counted, body_mm, record.slice_mm),
        waiting=record.waiting,
    )
