"""Processes that tests start: in a group of their own, of which none is left, whatever happens."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

ENDS_S = 60.0
"""Seconds in which what was told to end has ended, on a machine as slow and busy as any."""


@contextmanager
def own_group(
    words: Sequence[str], before: Callable[[], object] | None = None, **how: Any
) -> Iterator[subprocess.Popen[Any]]:
    """Start a process in a group of its own; at the end the whole group is killed.

    Interrupts reach it also where whoever runs the tests ignores them, as a shell makes of what it
    starts in the background, unless something else is to be done ``before``. POSIX only.
    """
    process = subprocess.Popen(
        words,
        start_new_session=True,
        preexec_fn=before or _listening,
        **how,
    )
    try:
        yield process
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def _listening() -> None:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def left_of(group: int) -> list[int]:
    """Return the processes of a group that are still there after some seconds."""
    until = time.monotonic() + ENDS_S
    while (left := _at_work(group)) and time.monotonic() < until:
        time.sleep(0.05)
    return left


def _at_work(group: int) -> list[int]:
    """Processes of a group, but for dead ones that nobody has asked about."""
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return []
    if not Path("/proc/self/stat").exists():
        return [group]
    found = []
    for place in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            state, _, its_group = (
                place.read_text(encoding="ascii", errors="replace").rpartition(")")[2].split()[:3]
            )
            if int(its_group) == group and state != "Z":
                found.append(int(place.parent.name))
    return found
