"""A line run many times over with other seeds: how many cans tip, and how sure that is."""

import math
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np

from packsim.counts.along_travel import LEAST_SLICE_MM
from packsim.counts.clusters import clusters_of
from packsim.counts.copies import Task, nothing
from packsim.counts.passages import OneRun, Passages
from packsim.counts.pool import cores, getting_ready, shared
from packsim.counts.run_file import RunFile, head_of
from packsim.counts.shortest_run import run_shortest
from packsim.errors import ends_raised, positive, whole
from packsim.passage.record import Record
from packsim.passage.run import run_passage
from packsim.passage.step import DT_S
from packsim.passage.track import Track

Progress = Callable[[float, int], None]

LOOK_EVERY_S: Final = 5.0
"""Slack, voids and places across are looked at this often [s]: the mat moves a few cans on."""

SLICE_CANS: Final = 2500
"""Most cans in a slice. More take little less time a can, and fewer share the cores better."""

_WORTH: Final = 2000
"""Cans that go through while one more process starts, one to two seconds."""


class Line(NamedTuple):
    """What is to be counted: a can size on a line, from a seed.

    By default the pack is a slice that repeats along travel, or several where cans are many, so
    that every can that is moved is counted; otherwise cans go through a line full of cans.
    """

    size: str
    seed: int
    track: Track
    whole_line: bool = False


class _Job(NamedTuple):
    """One run: of a slice that repeats, or of the whole line where that has no length."""

    line: int
    number: int
    cans: int
    slice_mm: float | None
    seed: np.random.SeedSequence
    track: Track


def run_many(
    lines: Sequence[Line],
    *,
    cans: int,
    repeats: int,
    workers: int | None = None,
    dt_s: float = DT_S,
    progress: Progress | None = None,
    resume: str | Path | None = None,
    meanwhile: Task = nothing,
) -> tuple[Passages, ...]:
    """Count on lines, each run many times.

    Parameters
    ----------
    lines : sequence of Line
        The lines. Run i of each gets the i-th child of its ``SeedSequence(seed)``.
    cans : int
        Cans to count in each run, at least.
    repeats : int
        Number of runs.
    workers : int, optional
        Processes to share the work; all cores by default. The result does not depend on it.
    dt_s : float
        Length of a step [s].
    progress : callable, optional
        Called with the cans that are done and asked for.
    resume : str or Path, optional
        File of finished runs, see `packsim.counts.run_file`: what it has is not run again, and each
        run is written to it when it has finished. The result is the same with or without it.
    meanwhile : callable, optional
        What else is to be done here, see `packsim.counts.pool.shared`.

    Returns
    -------
    tuple of Passages
        One for each line; each slice is a run of its own. Also after `KeyboardInterrupt`, with the
        runs done by then, and marked so.

    Raises
    ------
    InputError
        If a number is not above 0, or the file is not of these lines, cans, seed and program.
    """
    whole("cans", cans, 1, 2**53, "a whole number above 0")
    whole("repeats", repeats, 1, 2**53, "a whole number above 0")
    if workers is not None:
        whole("workers", workers, 1, 2**53, "a whole number above 0")
    positive("dt_s", dt_s)
    jobs = [
        _Job(i, number, *one, line.track)
        for i, line in enumerate(lines)
        for number, one in enumerate(_runs(line, cans, repeats))
    ]
    keeping = None if resume is None else RunFile(Path(resume), head_of(lines, cans, dt_s))
    with keeping or nullcontext() as kept:
        work = partial(_run_one, dt_s), meanwhile
        runs, interrupted = _run_all(work, jobs, workers, kept, progress)
    return tuple(
        Passages(
            size=line.size,
            seed=line.seed,
            stages=line.track.stages,
            runs=tuple(runs[key] for key in sorted(runs) if key[0] == i),
            asked=sum(job.line == i for job in jobs),
            interrupted=interrupted,
            whole_line=line.whole_line,
            unwritten="" if kept is None else kept.problem,
        )
        for i, line in enumerate(lines)
    )


def _run_all(
    work: tuple[Callable[[_Job], tuple[int, OneRun | None, int]], Task],
    jobs: Sequence[_Job],
    workers: int | None,
    kept: RunFile | None,
    progress: Progress | None,
) -> tuple[dict[tuple[int, int], OneRun], bool]:
    """Do the jobs that are not in the file; return all runs, and whether some are missing."""
    (do, meanwhile), before = work, {} if kept is None else kept.runs
    runs = {job[:2]: before[job[:2]] for job in jobs if job[:2] in before}
    due = [job for job in jobs if job[:2] not in runs]
    asked, done = sum(job.cans for job in due), 0
    several = workers or min(cores(), _worth(asked))
    try:
        with ends_raised():
            each = shared(do, due, several, run_shortest, meanwhile) if due else ()
            for line, run, through in each:
                if run is None:  # stopped from inside the run
                    return runs, True
                runs[line, run.number] = run
                if kept is not None:
                    kept.add(line, run)
                done += through
                if progress is not None:
                    progress(done, asked)
    except KeyboardInterrupt:
        return runs, True
    return runs, False


def _worth(cans: int) -> int:
    return max(1, cans // _WORTH)


def ready_to_count(cans: int, workers: int | None) -> AbstractContextManager[None]:
    """Let a copy of this process load what counting takes, while lines are read to be counted.

    Parameters
    ----------
    cans : int
        How many are likely to be counted by `run_many` in here.
    workers : int, optional
        As for `run_many`.

    Returns
    -------
    context manager
        See `packsim.counts.pool.getting_ready`.
    """
    there = os.cpu_count() or 1  # to ask which of them may be used takes longer
    return getting_ready(min(workers or _worth(cans), there), run_shortest)


def _runs(
    line: Line, cans: int, repeats: int
) -> Iterator[tuple[int, float | None, np.random.SeedSequence]]:
    """Cans of each run, length of its slice and its seed."""
    infeed = line.track.infeed
    each = np.random.SeedSequence(line.seed).spawn(repeats)
    if line.whole_line or not len(infeed):
        yield from ((cans, None if line.whole_line else LEAST_SLICE_MM, seed) for seed in each)
        return
    stretches = max(cans / len(infeed), LEAST_SLICE_MM / infeed.length_mm)
    slices = math.ceil(cans / SLICE_CANS)
    long = math.ceil(stretches / slices - 1e-9)
    for seed in each:
        for one in [seed] if slices == 1 else seed.spawn(slices):
            yield long * len(infeed), long * infeed.length_mm, one


def _run_one(dt_s: float, job: _Job) -> tuple[int, OneRun | None, int]:
    """Run one passage: which line, what it counted, None if it was interrupted, and its cans."""
    record: Record = run_passage(
        job.track,
        seed=job.seed,
        cans=None if job.slice_mm else job.cans,
        slice_mm=job.slice_mm,
        dt_s=dt_s,
        frame_every_s=LOOK_EVERY_S,
        keep_frames=False,
    )
    if record.interrupted:
        return job.line, None, job.cans
    counted = [e for e in record.events if 0 <= e.can - record.first_counted < record.counted]
    lies = "lies across" in job.track.tipped
    body_mm = job.track.standing.height_mm if lies else job.track.diameter_mm
    run = OneRun(
        number=job.number,
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
    return job.line, run, job.cans
