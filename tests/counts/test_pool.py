"""Jobs in other processes: what they give, what goes wrong in them, and that none is left."""

from __future__ import annotations

import multiprocessing
import os
import signal
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path

import joblib
import pytest

from packsim.counts import pool
from packsim.counts.copies import nothing
from packsim.counts.pool import shared
from packsim.errors import InputError, PacksimError
from tests.processes import left_of, own_group


@pytest.fixture
def alone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As in a command: no thread but this one, though the tests' own workers have more.

    What joblib keeps idle after other tests is not ours to end; nobody may come to it.
    """
    monkeypatch.setattr(pool, "active_count", lambda: 1)
    before = set(multiprocessing.active_children())
    yield
    assert set(multiprocessing.active_children()) <= before


def squared(number: int) -> tuple[int, int]:
    time.sleep(0.02)
    return number * number, os.getpid()


def refused(number: int) -> int:
    if number == 3:
        raise InputError("number", number, "another")
    return number


def ended(number: int) -> int:
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.mark.usefixtures("alone")
def test_every_job_is_done_once_and_the_work_is_shared() -> None:
    got = list(shared(squared, range(9), 3))
    assert sorted(square for square, _ in got) == [k * k for k in range(9)]
    assert len({process for _, process in got} - {os.getpid()}) == 3
    assert {process for _, process in shared(squared, range(3), 1)} == {os.getpid()}


@pytest.mark.usefixtures("alone")
def test_what_a_job_raises_is_raised_here_and_nobody_is_left() -> None:
    with pytest.raises(InputError, match="another"):
        list(shared(refused, range(40), 2))


@pytest.mark.usefixtures("alone")
def test_who_asks_for_no_more_leaves_nobody_at_work() -> None:
    results = shared(squared, range(400), 2)
    next(results)
    results.close()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
@pytest.mark.parametrize("jobs", [3, 9])  # one told to each at first, and two
def test_what_else_is_to_be_done_is_done_here_once_while_others_work(jobs: int) -> None:
    at_work: list[int] = []

    def meanwhile() -> None:
        at_work.append(len(multiprocessing.active_children()))

    got = list(shared(squared, range(jobs), 2, meanwhile=meanwhile))
    assert sorted(square for square, _ in got) == [k * k for k in range(jobs)]
    assert len(at_work) == 1
    assert at_work[0] >= 1
    assert list(shared(refused, range(2), 1, meanwhile=meanwhile)) == [0, 1]
    assert len(at_work) == 1


LOADED: list[int] = []


def loading() -> None:
    LOADED.append(os.getpid())


def loaded(number: int) -> tuple[int, ...]:
    time.sleep(0.02)
    return (*LOADED, os.getpid())


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
@pytest.mark.parametrize("ready", [0, 1, 2, 3])
def test_one_copy_loads_for_all_once_before_the_jobs_are_known(ready: int) -> None:
    """With none or too few of them ready others are made."""
    with pool.getting_ready(ready, loading):
        got = list(shared(loaded, range(6), 2, loading))
    assert not LOADED
    assert {len(one) for one in got} == {2}
    assert len({first for first, _ in got}) == 1
    assert len({worker for _, worker in got} | {got[0][0], os.getpid()}) == 4


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
def test_a_copy_that_is_ready_does_one_share_of_jobs_and_the_next_has_its_own() -> None:
    with pool.getting_ready(2, loading):
        first, second = ({one for one, _ in shared(loaded, range(4), 2, loading)} for _ in range(2))
    assert len(first | second) == 2


@pytest.mark.usefixtures("alone")
def test_a_copy_that_is_not_needed_is_ended() -> None:
    with pool.getting_ready(2, lambda: time.sleep(600.0)):
        assert list(shared(refused, range(2), 1)) == [0, 1]
    with pytest.raises(InputError, match="another"), pool.getting_ready(2, nothing):
        refused(3)


def broken() -> None:
    raise InputError("load", "nothing", "something")


def killed() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere it loads here")
@pytest.mark.usefixtures("alone")
@pytest.mark.parametrize("soon", [False, True])
@pytest.mark.parametrize(
    ("load", "error", "words"),
    [(broken, InputError, "something"), (killed, PacksimError, "ended from outside")],
)
def test_what_goes_wrong_as_a_copy_loads_is_said(
    load: Callable[[], None], error: type[Exception], words: str, soon: bool
) -> None:
    with pool.getting_ready(2, load):
        time.sleep(0.5 if soon else 0.0)
        with pytest.raises(error, match=words):
            list(shared(squared, range(40), 2, load))


def stopped() -> None:
    raise KeyboardInterrupt


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
def test_an_interrupt_of_what_else_is_done_leaves_nobody_at_work() -> None:
    with pytest.raises(KeyboardInterrupt):
        list(shared(squared, range(400), 2, meanwhile=stopped))


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
def test_a_process_that_is_killed_is_said_and_not_waited_for() -> None:
    with pytest.raises(PacksimError, match="ended from outside"):
        list(shared(ended, range(40), 2))


def ended_while_it_sends(number: int) -> bytes:
    def half(there: Connection, message: memoryview) -> None:
        os.write(there.fileno(), struct.pack("!i", len(message)) + bytes(message[:9]))
        os.kill(os.getpid(), signal.SIGKILL)

    Connection._send_bytes = half  # in this copy alone
    return bytes(1000 + number)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
@pytest.mark.usefixtures("alone")
def test_a_process_that_is_killed_in_the_middle_of_a_message_is_said_too() -> None:
    with pytest.raises(PacksimError, match="ended from outside"):
        list(shared(ended_while_it_sends, range(40), 2))


def not_to_be_read(number: int) -> int:
    raise PermissionError(13, "Permission denied", str(number))


@pytest.mark.usefixtures("alone")
def test_a_file_that_a_job_cannot_read_is_no_end_of_its_process() -> None:
    with pytest.raises(PermissionError):
        list(shared(not_to_be_read, range(40), 2))


ORPHANS = """
import os, time
from packsim.counts.pool import shared
def job(number):
    print(os.getpid(), flush=True)
    time.sleep(600.0 if number else 0.0)
list(shared(job, range(3), 3))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere joblib starts the processes")
def test_who_is_killed_leaves_nobody_at_work(root: Path) -> None:
    asked = [sys.executable, "-c", ORPHANS]
    with own_group(asked, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as parent:
        assert parent.stdout is not None
        for _ in range(3):
            parent.stdout.readline()
        parent.kill()
        parent.wait(300)
        assert left_of(parent.pid) == []


def test_with_threads_about_processes_start_afresh(monkeypatch) -> None:
    asked = []

    class Told(joblib.Parallel):
        def __init__(self, *given: object, **more: object) -> None:
            asked.append(given)
            super().__init__(*given, **more)

    monkeypatch.setattr(joblib, "Parallel", Told)
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        got = sorted(square for square, _ in shared(squared, range(3), 2))
    finally:
        stop.set()
        thread.join()
    assert got == [0, 1, 4]
    assert asked == [(2,)]


@pytest.mark.all
def test_a_process_of_joblib_that_is_killed_is_said_as_well() -> None:
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        with pytest.raises(PacksimError, match="ended from outside"):
            list(shared(ended, range(9), 2))
        with pytest.raises(PermissionError):
            list(shared(not_to_be_read, range(9), 2))
    finally:
        stop.set()
        thread.join()
