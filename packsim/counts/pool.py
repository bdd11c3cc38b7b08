"""Jobs shared by the cores of a machine; an interrupt ends them without a word from the workers."""

import os
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from itertools import islice
from threading import Thread, active_count, current_thread, main_thread
from typing import Any, TypeVar

from packsim.errors import PacksimError

Job = TypeVar("Job")
Result = TypeVar("Result")


def cores() -> int:
    """Return how many processes this machine, or the part of it that may be used, can run."""
    from joblib import cpu_count

    return int(cpu_count())


def nothing() -> None:
    """Do nothing else meanwhile."""


def shared(
    work: Callable[[Job], Result],
    jobs: Sequence[Job],
    workers: int,
    meanwhile: Callable[[], object] = nothing,
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
    Linux copies a process as it is, with all that it has loaded, in a hundredth of a second; one
    that starts afresh loads for two. A copy has but the thread that made it, and what the others
    had locked stays locked: with other threads about, joblib starts processes.
    """
    several = min(workers, len(jobs))
    if several == 1 and _at_home():
        yield from map(work, jobs)
        return
    if sys.platform == "linux" and active_count() == 1 and _at_home():
        yield from _copied(work, jobs, several, meanwhile)
        return
    from concurrent.futures.process import BrokenProcessPool

    from joblib import Parallel, delayed

    # no arrays mapped from files: these are read-only, and kernels are compiled for others
    how: dict[str, Any] = {"return_as": "generator_unordered", "batch_size": 1, "max_nbytes": None}
    pool: Any = Parallel(several, **how)
    with ExitStack() as ending:
        with _starting_deaf():
            results = pool(delayed(work)(job) for job in jobs)
            ending.callback(_cut_off, results)
        ending.enter_context(_told_of_an_end(BrokenProcessPool))
        for result in results:  # noqa: UP028 - "yield from" would end the results before `_cut_off`
            yield result


def _at_home() -> bool:
    """Whether no other backend of joblib is asked for."""
    if "joblib" not in sys.modules:
        return True
    from joblib.parallel import BACKENDS, DEFAULT_BACKEND, get_active_backend

    return isinstance(get_active_backend()[0], BACKENDS[DEFAULT_BACKEND])


_AHEAD = 4
"""Jobs for each copy from which on two are told at first, so that none waits for this process."""


def _copied(
    work: Callable[[Job], Result],
    jobs: Sequence[Job],
    workers: int,
    meanwhile: Callable[[], object],
) -> Iterator[Result]:
    """Do jobs in copies of this process: each is told the number of a job, and sends its result."""
    from multiprocessing import connection, get_context

    system, numbers = get_context("fork"), iter(range(len(jobs)))
    first = 1 if len(jobs) < _AHEAD * workers else 2
    at_work: dict[Any, Any] = {}
    try:
        with _starting_deaf():
            for _ in range(workers):
                here, there = system.Pipe()
                process = system.Process(target=_serve, args=(there, work, jobs), daemon=True)
                process.start()
                at_work[here] = process
                there.close()
                with _told_of_an_end(*_GONE):
                    for number in islice(numbers, first):
                        here.send(number)
        ahead = set(at_work if first > 1 else ())
        meanwhile()
        while at_work:
            ready: list[Any] = connection.wait(list(at_work))
            for here in ready:
                with _told_of_an_end(*_GONE):
                    problem, result = here.recv()
                if problem is not None:
                    raise problem
                if here not in ahead:
                    next_one = next(numbers, None)
                    with _told_of_an_end(*_GONE):
                        here.send(next_one)
                    if next_one is None:
                        at_work.pop(here).join()
                ahead.discard(here)
                yield result
    finally:
        for process in at_work.values():
            process.kill()
            process.join()


_GONE = EOFError, OSError
"""What a pipe raises whose other end is gone, the second in the middle of a message."""


@contextmanager
def _told_of_an_end(*signs: type[Exception]) -> Iterator[None]:
    """Say that a process was ended where one of the signs of that comes."""
    try:
        yield
    except signs:
        raise PacksimError(
            "a process that counted was ended from outside, as where memory runs out; ask again, "
            "with fewer --workers where the command takes them"
        ) from None


def _serve(there: Any, work: Callable[[Job], Result], jobs: Sequence[Job]) -> None:
    """Do the jobs whose numbers come, until none comes; end with the process that tells them."""
    Thread(target=_end_with_parent, daemon=True).start()
    with suppress(EOFError, ConnectionError):
        while (number := there.recv()) is not None:
            answer: tuple[Exception | None, Result | None]
            try:
                answer = None, work(jobs[number])
            except Exception as problem:
                answer = problem, None
            there.send(answer)


def _end_with_parent() -> None:
    """End this process, at work or not, when its parent was killed and could not do it."""
    from multiprocessing import connection, parent_process

    parent: Any = parent_process()
    connection.wait([parent.sentinel])
    os._exit(1)


def _cut_off(results: Any) -> None:
    """End the processes where jobs are left."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # joblib advises against jobs that are cut off
        results.close()


@contextmanager
def _starting_deaf() -> Iterator[None]:
    """Let processes that start ignore interrupts: this one answers them, and ends the others.

    An interrupt goes to every process at the terminal. One that starts while its parent ignores
    interrupts ignores them from its first instruction, so none dies with a traceback.
    """
    if current_thread() is not main_thread():  # only there may a signal be set
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
