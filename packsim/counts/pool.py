"""Jobs shared by the cores of a machine; an interrupt ends them without a word from the workers."""

import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from contextvars import ContextVar
from threading import active_count
from typing import Any, Final

from packsim.counts.copies import (
    Copies,
    Job,
    Result,
    Task,
    nothing,
    starting_deaf,
    told_of_an_end,
)

_READY: Final = ContextVar[Copies | None]("_READY", default=None)
"""The copy that gets ready for what is shared out, see `getting_ready`."""


def cores() -> int:
    """Return how many processes this machine, or the part of it that may be used, can run."""
    from joblib import cpu_count

    return int(cpu_count())


@contextmanager
def getting_ready(workers: int, load: Task) -> Iterator[None]:
    """Let a copy of this process load what work needs, while jobs are made for `shared` in here.

    Parameters
    ----------
    workers : int
        Most processes that may share the jobs; with 1 nothing is done.
    load : callable
        As for `shared`.

    Yields
    ------
    None
        The copy ends with what is done in here.
    """
    if workers < 2 or not _can_be_copied():
        yield
        return
    try:
        copies = Copies(workers, load)
    except OSError:  # too little memory, too many processes: it may do without
        yield
        return
    before = _READY.set(copies)
    try:
        yield
    finally:
        _READY.reset(before)
        copies.end()


def shared(
    work: Callable[[Job], Result],
    jobs: Sequence[Job],
    workers: int,
    load: Task = nothing,
    meanwhile: Task = nothing,
) -> Iterator[Result]:
    """Do jobs here or in other processes, and yield what they give, as they are finished.

    Parameters
    ----------
    work : callable
        What to do with a job; it and its arguments can be pickled.
    jobs : sequence
        The jobs.
    workers : int
        Processes to share them; with 1 they are done here. Inside ``joblib.parallel_config`` the
        backend it names does them, a dask cluster for one.
    load : callable, optional
        Loads or compiles what the work needs, once before several share the jobs.
    meanwhile : callable, optional
        What else is to be done here, called while copies of this process are at work: nowhere else
        would it save time.

    Yields
    ------
    object
        The results. Where the iterator is closed or interrupted, no process is left at work.

    Raises
    ------
    PacksimError
        If a process is ended from outside, as where memory runs out.

    Notes
    -----
    Linux copies this process, see `packsim.counts.copies`; elsewhere, and with threads about,
    joblib starts processes.
    """
    several = min(workers, len(jobs))
    if several == 1 and _at_home():
        yield from map(work, jobs)
    elif _can_be_copied():
        yield from _copies(several, load).done(work, jobs, several, meanwhile)
    else:
        if several > 1:
            load()
        yield from _started(work, jobs, several)


def _copies(several: int, load: Task) -> Copies:
    """Return those that get ready, once; others where there are none or too few."""
    ready = _READY.get()
    _READY.set(None)
    return ready if ready is not None and ready.workers >= several else Copies(several, load)


def _started(work: Callable[[Job], Result], jobs: Sequence[Job], several: int) -> Iterator[Result]:
    """Do jobs in processes that start afresh, or wherever joblib is told to."""
    from concurrent.futures.process import BrokenProcessPool

    from joblib import Parallel, delayed

    # no arrays mapped from files: these are read-only, and kernels are compiled for others
    how: dict[str, Any] = {"return_as": "generator_unordered", "batch_size": 1, "max_nbytes": None}
    pool: Any = Parallel(several, **how)
    with ExitStack() as ending:
        with starting_deaf():
            results = pool(delayed(work)(job) for job in jobs)
            ending.callback(_cut_off, results)
        ending.enter_context(told_of_an_end(BrokenProcessPool))
        for result in results:  # noqa: UP028 - "yield from" would end the results before `_cut_off`
            yield result


def _can_be_copied() -> bool:
    """Whether this process can be copied, and no other backend is asked for."""
    return sys.platform == "linux" and active_count() == 1 and _at_home()


def _at_home() -> bool:
    """Whether no other backend of joblib is asked for."""
    if "joblib" not in sys.modules:
        return True
    from joblib.parallel import BACKENDS, DEFAULT_BACKEND, get_active_backend

    return isinstance(get_active_backend()[0], BACKENDS[DEFAULT_BACKEND])


def _cut_off(results: Any) -> None:
    """End the processes where jobs are left."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # joblib advises against jobs that are cut off
        results.close()
