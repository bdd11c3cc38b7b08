"""CPU time of calls and of whole processes: medians of runs in turns."""

from __future__ import annotations

import gc
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


def environment(cache: Path | None = None) -> dict[str, str]:
    """What processes are started with: no screen, and a folder of their own for what they keep.

    It stays from one run of the benchmarks to the next, as a user's does. Python keeps its byte
    code, as it does unless told otherwise, so that no process compiles the sources once more. In
    an own cache nothing is kept yet; machine code is beside it, for all such caches of one folder.
    """
    folder = cache or Path(tempfile.gettempdir()) / "packsim-bench"
    fresh = {"NUMBA_CACHE_DIR": str(cache.parent)} if cache else {}  # else in the package
    return (
        os.environ
        | fresh
        | {
            "PYTHONDONTWRITEBYTECODE": "",
            "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "packsim-bench-code"),
            "PACKSIM_CACHE": str(folder),
            "SDL_VIDEODRIVER": "dummy",
            "SDL_AUDIODRIVER": "dummy",
            "PYTHONPATH": str(ROOT),
        }
    )


def process_s(arguments: Sequence[str], cache: Path | None = None) -> tuple[float, float]:
    """CPU and wall time of a Python process and all it starts [s]."""
    import resource  # not on Windows, where the other parts can be tried

    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    words = [sys.executable, *arguments]
    got = subprocess.run(words, cwd=ROOT, env=environment(cache), check=False, capture_output=True)
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if got.returncode:
        raise RuntimeError(f"{' '.join(arguments)}: {got.stderr.decode(errors='replace')}")
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return cpu, wall


def told(code: str) -> list[float]:
    """Run Python code in a process of its own and return the numbers it prints."""
    words = [sys.executable, "-c", code]
    got = subprocess.run(
        words, cwd=ROOT, env=environment(), check=True, capture_output=True, text=True
    )
    return [float(word) for word in got.stdout.split()]
