"""The command line in this process: a tenth of the time of a new one."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from packsim.cli.app import main
from packsim.compiling import FIRST_TIME
from tests.processes import left_of, own_group


@dataclass(frozen=True)
class Ended:
    """How a command ended and what it said."""

    returncode: int
    stdout: str
    stderr: str


def run(*arguments: object, encoding: str = "utf-8") -> Ended:
    """Run ``packsim`` with arguments, its standard output and error piped, in an encoding."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding, newline="") for _ in range(2)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["packsim", *map(str, arguments)])
        patch.setattr(sys, "stdout", streams[0])
        patch.setattr(sys, "stderr", streams[1])
        with pytest.raises(SystemExit) as end:
            main()
    texts = []
    for stream in streams:
        stream.flush()
        texts.append(stream.buffer.getvalue().decode(errors="replace"))
    texts[1] = texts[1].replace(FIRST_TIME + "\n", "")  # on a machine that has not compiled yet
    return Ended(int(end.value.code or 0), *texts)


@pytest.fixture(scope="session")
def packsim() -> Callable[..., Ended]:
    """Run ``packsim`` with arguments, anew each time."""
    return run


@pytest.fixture(scope="session")
def known() -> Callable[..., Ended]:
    """Run ``packsim`` once for all tests that ask the same and leave no file behind."""
    ended: dict[tuple[str, ...], Ended] = {}

    def once(*arguments: object) -> Ended:
        key = tuple(map(str, arguments))
        if key not in ended:
            ended[key] = run(*key)
        return ended[key]

    return once


@pytest.fixture(scope="session")
def interrupted() -> Callable[..., Ended]:
    """Run Python in a group of its own and, at a printed sign, interrupt the whole group.

    That is what a terminal does at Ctrl-C. POSIX only. No process is left behind, whatever happens.
    """

    def run_until(sign: str, *arguments: object, cwd: object = None) -> Ended:
        with own_group(
            [sys.executable, *map(str, arguments)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            cwd=None if cwd is None else str(cwd),
        ) as process:
            assert process.stdout is not None
            said = iter(process.stdout.readline, "")
            assert any(line.strip() == sign for line in said), "the sign never came"
            os.killpg(process.pid, signal.SIGINT)
            out, err = process.communicate(timeout=300)
            left = left_of(process.pid)
        assert not left, "a worker outlived the command"
        return Ended(process.returncode, out, err)

    return run_until
