"""A process that runs one case after another, until one of them kills it.

It has 1 GB of memory and, for each case, 10 s of processor time; who has more is killed by the
system, so that nothing here can catch it.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import packsim.cli.app
from tests.fuzz.judge import faults
from tests.fuzz.kinds import case_of

SECONDS = 10.0
BYTES = 1_000_000_000


def main(seed: int, first: int, after: int, step: int) -> None:
    """Run the cases of a seed and tell of each, a line of JSON when it begins and when it ends."""
    _load()
    resource.setrlimit(resource.RLIMIT_DATA, (BYTES, BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    tell = os.fdopen(os.dup(1), "w", encoding="utf-8")
    for number in range(first, after, step):
        print(json.dumps({"begins": number}), file=tell, flush=True)
        print(json.dumps(one(seed, number)), file=tell, flush=True)
        if _peak() > BYTES:  # it never gets less: the next case is for a process of its own
            return


def _load() -> None:
    """Load what commands load late: it must not count as the time of a case."""
    os.environ |= {"SDL_VIDEODRIVER": "dummy", "SDL_AUDIODRIVER": "dummy", "MPLBACKEND": "Agg"}
    import viewer.window.app

    assert viewer.window.app


def one(seed: int, number: int) -> dict[str, Any]:
    """Run a case in a folder of its own and return how it ended and what is wrong with that."""
    was = Path.cwd()
    folder = Path(tempfile.mkdtemp(prefix="fuzz_"))
    try:
        os.chdir(folder)
        kind, case = case_of(seed, number)
        before = _files()
        signal.setitimer(signal.ITIMER_PROF, SECONDS)  # nobody handles it: it kills
        began = time.process_time()
        code, out, err = run(case.words, case.answers)
        took = time.process_time() - began
        signal.setitimer(signal.ITIMER_PROF, 0)
        wrong = faults(case, code, out, err, before, _files())
    finally:
        os.chdir(was)
        shutil.rmtree(folder, ignore_errors=True)
    if _peak() > BYTES:
        wrong.append(f"{_peak() / 1e6:.0f} MB of memory")
    return {
        "number": number,
        "kind": kind,
        "words": case.words,
        "code": code,
        "took": took,
        "wrong": wrong,
        "said": err[-1500:] if wrong else "",
    }


def _peak() -> int:
    """Most memory this program has had; the system's own count begins with that of its parent."""
    with contextlib.suppress(OSError, StopIteration):
        lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
        return 1024 * next(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
    return 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def _files() -> dict[str, bytes]:
    """What the folder holds, by name: the beginning of a file, or what else it is."""
    found = {}
    for place in Path().rglob("*"):
        plain = place.is_file() and not place.is_symlink()
        if plain:
            with place.open("rb") as file:
                found[str(place)] = b"%d " % place.stat().st_size + file.read(100_000)
        else:
            found[str(place)] = b"something else"
    return found


@contextlib.contextmanager
def _pipes(answers: str) -> Iterator[list[io.TextIOWrapper]]:
    """Put pipes in the place of the terminal."""
    kept = sys.stdin, sys.stdout, sys.stderr, sys.argv, dict(os.environ)
    raw = answers.encode(errors="surrogatepass")
    sys.stdin = io.TextIOWrapper(io.BytesIO(raw), encoding="utf-8", errors="surrogateescape")
    pipes = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="", errors=how)
             for how in ("strict", "backslashreplace")]  # fmt: skip
    sys.stdout, sys.stderr = pipes
    try:
        yield pipes
    finally:
        sys.stdin, sys.stdout, sys.stderr, sys.argv, old = kept
        os.environ.clear()
        os.environ.update(old)


def run(words: tuple[str, ...], answers: str) -> tuple[int, str, str]:
    """Run a command line here; return its exit code, 99 for an exception, and what it said."""
    with _pipes(answers) as pipes:
        sys.argv = list(words)
        code = 0
        try:
            if words[0] == "packsim":
                packsim.cli.app.main()
            else:
                import viewer.window.app

                viewer.window.app.main(list(words[1:]))
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
        except BaseException:
            code = 99
            traceback.print_exc()
        said = []
        for pipe in pipes:
            pipe.flush()
            said.append(pipe.buffer.getvalue().decode(errors="replace"))  # type: ignore[attr-defined]
    return code, said[0], said[1]


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
