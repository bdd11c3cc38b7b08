"""Copies of this process, on Linux: a first one loads what work needs, and is copied in its turn.

Linux copies a process as it is, with all that it has loaded, in a hundredth of a second; one that
starts afresh loads for two. The first copy may be made before the jobs are known: it loads while
this process reads what they are. A copy has but the thread that made it, and what the others had
locked stays locked, so no thread may be about.
"""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from threading import Thread, current_thread, main_thread
from typing import Any, TypeVar

from packsim.errors import PacksimError

Job = TypeVar("Job")
Result = TypeVar("Result")
Task = Callable[[], object]

_AHEAD = 4
"""Jobs for each worker from which on two are told at first, so that none waits for this process."""


_GONE = EOFError, OSError
"""What a pipe raises whose other end is gone, the second in the middle of a message."""


@contextmanager
def told_of_an_end(*signs: type[Exception]) -> Iterator[None]:
    """Say that a process was ended where one of the signs of that comes."""
    try:
        yield
    except signs:
        raise PacksimError(
            "a process that counted was ended from outside, as where memory runs out; ask again, "
            "with fewer --workers where the command takes them"
        ) from None


def nothing() -> None:
    """Do nothing."""


class Copies:
    """A copy of this process that gets ready, and makes as many workers of itself as are needed.

    Parameters
    ----------
    workers : int
        Most of them.
    load : callable, optional
        What the first copy does at once.

    Notes
    -----
    This process tells each worker the numbers of its jobs, and gets the results from it. What ends
    this process ends the first copy, which ends the workers: it reads the end of their pipe.
    """

    def __init__(self, workers: int, load: Task = nothing) -> None:
        from multiprocessing import get_context

        from packsim.compiling import SPEAKER

        system, self.workers, self._at_work = get_context("fork"), workers, False
        self._telling: Thread | None = None
        pipes = [system.Pipe() for _ in range(1 + workers)]
        self._told, *self._ends = (here for here, _ in pipes)
        self._first = system.Process(target=_get_ready, args=(load, pipes), name=SPEAKER)
        with starting_deaf():
            self._first.start()
        for _, there in pipes:
            there.close()

    def done(
        self, work: Callable[[Job], Result], jobs: Sequence[Job], workers: int, meanwhile: Task
    ) -> Iterator[Result]:
        """Yield what jobs give, as they are finished; no copy is left then.

        The parameters are those of `packsim.counts.pool.shared`; no worker is without a job.
        """
        numbers, at_first = iter(range(len(jobs))), 1 if len(jobs) < _AHEAD * workers else 2
        try:
            at_work = self._ends[:workers]
            self._tell((workers, work, jobs))
            for here in at_work:
                for number in islice(numbers, at_first):
                    self._send(here, number)
            ahead = set(at_work if at_first > 1 else ())
            meanwhile()
            while at_work:
                for here, result in self._answers(at_work):
                    if here not in ahead:
                        self._send(here, next_one := next(numbers, None))
                        if next_one is None:
                            at_work.remove(here)
                    ahead.discard(here)
                    yield result
            self._send(self._told, None)
        finally:
            self.end()

    def _send(self, here: Any, number: int | None) -> None:
        """Tell a number; raise what went wrong as the first copy loaded if none hears for that."""
        problem = None
        with told_of_an_end(*_GONE):
            try:
                here.send(number)
            except OSError:
                problem = self._told.recv()[0] if self._told.poll() else None
                if problem is None:
                    raise
        if problem is not None:
            raise problem

    def _tell(self, what: object) -> None:
        """Send the first copy its jobs, more than its pipe holds while it loads and reads none."""
        from multiprocessing.reduction import ForkingPickler

        told = ForkingPickler.dumps(what)

        def send() -> None:
            with suppress(OSError):  # it was ended: its pipe has said, or will say, why
                self._told.send_bytes(told)

        self._telling = Thread(target=send, daemon=True)
        self._telling.start()

    def _answers(self, at_work: Sequence[Any]) -> Iterator[tuple[Any, Any]]:
        """Wait for workers, and yield what came from which."""
        from multiprocessing import connection

        ready: list[Any] = connection.wait([self._told, *at_work])
        for here in ready:
            with told_of_an_end(*_GONE):
                problem, result = here.recv()
            if problem is not None:
                raise problem
            if here is self._told:
                self._at_work = True
            else:
                yield here, result

    def end(self) -> None:
        """End every copy that is left; called again, nothing."""
        with suppress(OSError):  # the pipe of one that was ended from outside
            if not self._at_work and not self._told.poll():
                self._first.kill()  # it loads or compiles, and reads no pipe
        if self._telling is not None:
            self._telling.join()
        for here in (self._told, *self._ends):
            here.close()
        self._first.join()


def _get_ready(load: Task, pipes: Sequence[tuple[Any, Any]]) -> None:
    """Load, wait for the jobs, make the workers and wait for the end: what the first copy does."""
    told, *theirs = (there for _, there in pipes)
    for here, _ in pipes:
        here.close()
    made: list[Any] = []
    try:
        load()
        workers, work, jobs = told.recv()
        made += _workers(theirs[:workers], [told, *theirs], work, jobs)
        for there in theirs:
            there.close()
        told.send((None, None))
        told.recv()  # that all is done, or what the end of this pipe raises
        for process in made:
            process.join()
    except (EOFError, ConnectionError):
        pass
    except Exception as problem:
        with suppress(ConnectionError):
            told.send((problem, None))
    finally:
        for process in made:
            process.kill()
            process.join()


def _workers(
    theirs: Sequence[Any], others: Sequence[Any], work: Callable[[Any], Any], jobs: Sequence[Any]
) -> Iterator[Any]:
    """Start a worker for each of the pipes."""
    from multiprocessing import get_context

    for there in theirs:
        given = there, [one for one in others if one is not there], work, jobs
        process = get_context("fork").Process(target=_serve, args=given, daemon=True)
        process.start()
        yield process


def _serve(
    there: Any, others: Sequence[Any], work: Callable[[Job], Result], jobs: Sequence[Job]
) -> None:
    """Do the jobs whose numbers come, until none comes; end with the process that made this one."""
    for one in others:  # whose ends are to be seen where they end
        one.close()
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


@contextmanager
def starting_deaf() -> Iterator[None]:
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
