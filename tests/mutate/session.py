"""Tests run within this process or a copy of it, nothing written beside them."""

from __future__ import annotations

import json
import os
import select
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import Phase, settings

from tests.mutate.mutants import ROOT


class _Quick:
    """No failing example is made smaller: that it fails is all that is asked."""

    def pytest_collection(self) -> None:
        phases = (Phase.explicit, Phase.generate)
        settings.register_profile(  # as many examples as ``python -m tests`` tries
            "mutate", deadline=None, derandomize=True, phases=phases, max_examples=25
        )
        settings.load_profile("mutate")


def run_pytest(names: list[str], plugins: list[Any]) -> int:
    """Run pytest here, in silence; its exit code."""
    with tempfile.TemporaryDirectory(prefix="mutate_") as folder:
        # a module with doctests would be rewritten, past what changes it
        words = ["-p", "no:terminal", "-p", "no:faulthandler", "--assert=plain", "-m", "not slow"]
        words += ["--rootdir", str(ROOT), "--basetemp", f"{folder}/of_tests"]
        words += [str(ROOT / name) for name in names]
        return int(pytest.main(words, plugins=[_Quick(), *plugins]))


def forked(work: Callable[[], dict[str, Any]], wall_s: float = 600.0) -> dict[str, Any]:
    """Do something in a copy of this process and return what it returns.

    ``ended`` says how the copy ended where it returned nothing. What it started ends with it.
    """
    sys.stdout.flush()
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        _child(work, into)
    os.close(into)
    said, until = b"", time.monotonic() + wall_s
    while select.select([out], [], [], max(0.0, until - time.monotonic()))[0]:
        part = os.read(out, 1 << 20)
        if not part:
            break
        said += part
    os.close(out)
    with suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    try:
        return dict(json.loads(said))
    except ValueError:
        if -code in (signal.SIGPROF, signal.SIGKILL):
            return {"ended": "out of time"}
        return {"ended": f"ended with {code}"}


def _child(work: Callable[[], dict[str, Any]], into: int) -> None:
    os.setsid()
    try:
        quiet = os.open(os.devnull, os.O_RDWR)
        os.dup2(quiet, 0)
        os.dup2(quiet, 1)
        text = json.dumps(work()).encode()
        while text:
            text = text[os.write(into, text) :]
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        os._exit(70)
