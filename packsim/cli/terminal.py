"""What a command shows while it works and when it is done: progress, and text for any terminal."""

from __future__ import annotations

import codecs
import io
import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rich.console import RenderableType


PIPE_WIDTH: Final = 132
"""Columns when the output is not a terminal: a table that wraps at 80 is hard to read in a file."""

PLAIN_SIGNS: Final = {
    "−": "-", "–": "-", "→": ">", "×": "x", "·": ".", "±": "~", "°": " ", "√": "V"
}  # fmt: skip
"""What stands for a sign that the encoding of the output lacks."""


def _plain_sign(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(PLAIN_SIGNS.get(sign, "?") for sign in lost), error.end


def print_to_terminal(what: RenderableType) -> None:
    """Print to standard output: as wide as the terminal, or ``COLUMNS`` where it is piped."""
    from rich.console import Console

    from packsim.errors import printable

    if isinstance(sys.stdout, io.TextIOWrapper):
        # a terminal that lacks a sign shows a plain one in its place, as wide as it
        codecs.register_error("packsim", _plain_sign)
        sys.stdout.reconfigure(errors="packsim")
    follows = sys.stdout.isatty() or "COLUMNS" in os.environ
    console = Console(width=None if follows else PIPE_WIDTH, highlight=False)
    if isinstance(what, str):
        what = "\n".join(map(printable, what.split("\n")))
    console.print(what, markup=False, soft_wrap=isinstance(what, str))


@contextmanager
def progress_bar(what: str, things: str = "") -> Iterator[Callable[[float, int], None]]:
    """Show progress on standard error once a job has taken a second; silent when piped.

    With the name of the ``things`` that are done it says how many a second.
    """
    if not sys.stderr.isatty():
        yield lambda done, of: None
        return
    from rich.console import Console
    from rich.progress import Progress

    started = time.perf_counter()
    with Progress(console=Console(stderr=True), transient=True, auto_refresh=False) as bar:
        task = bar.add_task(what, visible=False)

        def tick(done: float, of: int) -> None:
            took = time.perf_counter() - started
            pace = f": {done / took:,.0f} {things} a second" if things and done else ""
            slow = took > 1.0
            bar.update(
                task,
                description=what + pace,
                completed=done,
                total=of,
                visible=slow,
                refresh=slow,
            )

        yield tick
