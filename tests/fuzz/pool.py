"""Processes that run cases: one that falls over or hangs is replaced, and the case counts."""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from tempfile import TemporaryFile
from typing import IO, Any

from tests.fuzz.case import ROOT

WAITS = 120.0
"""Seconds of the clock a case may take: one that sleeps burns no processor time."""


def ended_cases(seed: int, numbers: range, workers: int) -> Iterator[dict[str, Any]]:
    """Run the cases with these numbers and yield how each ended."""
    parts = [numbers[i::workers] for i in range(workers)]
    with ThreadPoolExecutor(workers) as threads:
        for part in threads.map(lambda one: list(_run(seed, one)), parts):
            yield from part


def _run(seed: int, numbers: range) -> Iterator[dict[str, Any]]:
    while numbers:
        words = (seed, numbers.start, numbers.stop, numbers.step)
        with TemporaryFile() as said, _child(words, said) as child:
            assert child.stdout is not None
            at = numbers.start
            for told in _lines(child.stdout):
                if "begins" in told:
                    at = told["begins"]
                else:
                    yield told
                    at = told["number"] + numbers.step
            code = _ended(child)
            numbers = range(at, numbers.stop, numbers.step)
            if numbers and code != 0:
                said.seek(0)
                yield _killed(seed, at, code, said.read().decode(errors="replace"))
                numbers = numbers[1:]


def _ended(child: subprocess.Popen[bytes]) -> int:
    """Return how a child ended that has closed its pipe, or kill it."""
    with suppress(subprocess.TimeoutExpired):
        return child.wait(10.0)
    child.kill()
    return child.wait()


@contextmanager
def _child(words: tuple[int, ...], said: IO[bytes]) -> Iterator[subprocess.Popen[bytes]]:
    """A process that runs cases; whatever it began itself ends with it."""
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.fuzz.child", *map(str, words)],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=said,
        start_new_session=True,
    )
    try:
        yield child
    finally:
        with suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.communicate()


def _lines(stream: IO[bytes]) -> Iterator[dict[str, Any]]:
    """Yield what a child tells, until it ends or has been silent for too long."""
    while select.select([stream], [], [], WAITS)[0]:
        line = stream.readline()
        if not line:
            return
        yield json.loads(line)


def _killed(seed: int, number: int, code: int, said: str) -> dict[str, Any]:
    how = {-signal.SIGPROF: "more than 10 s", -signal.SIGKILL: f"silent for {WAITS:g} s"}
    wrong = how.get(code, f"the process ended with {code}")
    words = (f"python -m tests.fuzz --seed {seed} --only {number}",)
    return {"number": number, "kind": "killed", "words": words, "code": code, "took": 0.0,
            "wrong": [wrong], "said": said[-1500:]}  # fmt: skip
