"""The command line in this process: a tenth of the time of a new one."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from packsim.cli.app import main


@dataclass(frozen=True)
class Ended:
    """How a command ended and what it said."""

    returncode: int
    stdout: str
    stderr: str


@pytest.fixture
def packsim(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ended]:
    """Run ``packsim`` with arguments, its standard output and error piped."""

    def run(*arguments: str) -> Ended:
        streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2)]
        with monkeypatch.context() as patch:
            patch.setattr(sys, "argv", ["packsim", *arguments])
            patch.setattr(sys, "stdout", streams[0])
            patch.setattr(sys, "stderr", streams[1])
            try:
                main()
                code = 0
            except SystemExit as end:
                code = end.code if isinstance(end.code, int) else int(end.code is not None)
        texts = []
        for stream in streams:
            stream.flush()
            texts.append(stream.buffer.getvalue().decode())
        return Ended(code, *texts)

    return run
