"""Jobs shared by the cores of a machine; an interrupt ends them without a word from the workers."""

import signal
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from threading import current_thread, main_thread
from typing import Any, TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")


def cores() -> int:
    """Return how many processes this machine, or the part of it that may be used, can run."""
    from joblib import cpu_count

    return int(cpu_count())


def shared(
    work: Callable[[Job], Result], jobs: Sequence[Job], workers: int, *, in_order: bool = False
) -> Iterator[Result]:
    """Do jobs here or in other processes, and yield what they give.

    Parameters
    ----------
    work : callable
        What to do with a job; it and its arguments can be pickled.
    jobs : sequence
        The jobs.
    workers : int
        Processes to share them; with 1 they are done here. Inside ``joblib.parallel_config`` the
        backend it names does them, a dask cluster for one.
    in_order : bool
        Yield in the order of the jobs; otherwise as they are finished.

    Yields
    ------
    object
        The results. Where the iterator is closed or interrupted, no process is left at work.
    """
    from joblib import Parallel, delayed

    how = "generator" if in_order else "generator_unordered"
    # no arrays mapped from files: these are read-only, and kernels are compiled for others
    pool: Any = Parallel(min(workers, len(jobs)), return_as=how, batch_size=1, max_nbytes=None)
    with ExitStack() as ending:
        with _starting_deaf():
            results = pool(delayed(work)(job) for job in jobs)
            ending.callback(_cut_off, results)
        for result in results:  # noqa: UP028 - "yield from" would end the results before `_cut_off`
            yield result


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
