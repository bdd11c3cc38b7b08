"""CPU time of calls and of whole processes: medians of runs in turns."""

from __future__ import annotations

import gc
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

Job = Callable[[], object]


def cpu_ms(job: Job) -> float:
    """CPU time of one call, all threads together [ms]."""
    start = time.process_time()
    job()
    return 1e3 * (time.process_time() - start)


def in_turns(jobs: Mapping[str, Callable[[], float]], rounds: int) -> dict[str, float]:
    """Ask each job for its time, one after the other, again and again; medians by name."""
    spent: dict[str, list[float]] = {name: [] for name in jobs}
    with _no_collection():
        for _ in range(rounds):
            for name, job in jobs.items():
                spent[name].append(job())
    return {name: statistics.median(times) for name, times in spent.items()}


def alternated(jobs: Mapping[str, Job], rounds: int) -> dict[str, float]:
    """Median CPU time of each job, after one call that nobody times [ms]."""
    for job in jobs.values():
        job()
    return in_turns({name: lambda job=job: cpu_ms(job) for name, job in jobs.items()}, rounds)


@contextmanager
def _no_collection() -> Iterator[None]:
    gc.collect()
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@contextmanager
def scratch() -> Iterator[dict[str, str]]:
    """An environment whose passages are kept in a folder that goes away."""
    with tempfile.TemporaryDirectory() as folder:
        yield os.environ | {
            "PACKSIM_CACHE": folder,
            "SDL_VIDEODRIVER": "dummy",
            "SDL_AUDIODRIVER": "dummy",
            "PYTHONPATH": str(ROOT),
        }


def process_s(
    arguments: Sequence[str], environment: Mapping[str, str], most_s: float = 60.0
) -> tuple[float, float]:
    """CPU and wall time of a Python process and all it starts; infinite where it is stopped [s]."""
    import resource  # not on Windows, where the other parts can be tried

    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    words = [sys.executable, *arguments]
    try:
        got = subprocess.run(
            words, cwd=ROOT, env=environment, check=False, capture_output=True, timeout=most_s
        )
    except subprocess.TimeoutExpired:
        return math.inf, math.inf
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if got.returncode:
        raise RuntimeError(f"{' '.join(arguments)}: {got.stderr.decode(errors='replace')}")
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return cpu, wall


def told(code: str) -> list[float]:
    """Run Python code in a process of its own and return the numbers it prints."""
    with scratch() as environment:
        got = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env=environment,
            check=True,
            capture_output=True,
            text=True,
        )
    return [float(word) for word in got.stdout.split()]
