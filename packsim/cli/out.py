"""Where a command's answer goes: the terminal, standard output, a file."""

from __future__ import annotations

import codecs
import io
import json
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import RenderableType

__all__ = [
    "check_chart",
    "check_output",
    "emit_chart",
    "emit_json",
    "emit_text",
    "print_to_terminal",
    "progress_bar",
]

CHART_ENDINGS = (".svg", ".png")
"""What a chart can be written as."""

PIPE_WIDTH = 132
"""Columns when the output is not a terminal: a table that wraps at 80 is hard to read in a file."""


PLAIN_SIGNS = {"−": "-", "–": "-", "→": ">", "×": "x", "·": ".", "±": "~", "°": " ", "√": "V"}
"""What stands for a sign that the encoding of the output lacks."""


def _plain_sign(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(PLAIN_SIGNS.get(sign, "?") for sign in lost), error.end


def print_to_terminal(*what: RenderableType) -> None:
    """Print rich renderables to standard output, plain when it is not a terminal."""
    from rich.console import Console

    if isinstance(sys.stdout, io.TextIOWrapper):
        # a terminal that lacks a sign shows a plain one in its place, as wide as it
        codecs.register_error("packsim", _plain_sign)
        sys.stdout.reconfigure(errors="packsim")
    console = Console(width=None if sys.stdout.isatty() else PIPE_WIDTH, highlight=False)
    for item in what:
        console.print(item)


def check_chart(path: str | None, *, replace: bool) -> None:
    """Refuse a chart file of a kind we do not draw, or that must not be written."""
    if path is not None and Path(path).suffix.lower() not in CHART_ENDINGS:
        from packsim.errors import InputError

        raise InputError("chart", path, "a name ending in " + " or ".join(CHART_ENDINGS))
    check_output(path, replace=replace)


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[float, int], None]]:
    """Show progress on standard error once a job has taken a second; silent when piped."""
    if not sys.stderr.isatty():
        yield lambda done, of: None
        return
    from rich.console import Console
    from rich.progress import Progress

    started = time.perf_counter()
    with Progress(console=Console(stderr=True), transient=True, auto_refresh=False) as bar:
        task = bar.add_task(what, visible=False)

        def tick(done: float, of: int) -> None:
            slow = time.perf_counter() - started > 1.0
            bar.update(task, completed=done, total=of, visible=slow, refresh=slow)

        yield tick


def check_output(path: str | None, *, replace: bool) -> None:
    """Refuse an output file that must not be written, before the work is done."""
    if path is not None and path != "-":
        from packsim.report.files.write import check_target

        check_target(Path(path), replace=replace)


def emit_text(text: str, path: str, *, replace: bool = False) -> None:
    """Write text to a file, or to standard output for ``-``."""
    if path == "-":
        # UTF-8 and newlines as they are, whatever the terminal speaks: this is meant for programs
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode("utf-8"))
        sys.stdout.buffer.flush()
        return
    from packsim.report.files.write import write_text

    write_text(Path(path), text, replace=replace)


def emit_json(data: Mapping[str, Any], path: str, *, replace: bool = False) -> None:
    """Write JSON to a file, or to standard output for ``-``; never NaN or Infinity."""
    emit_text(
        json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n",
        path,
        replace=replace,
    )


def emit_chart(figure: Figure, path: str, *, replace: bool = False) -> None:
    """Write a chart as SVG or PNG, by the ending of the file's name; see `check_chart`."""
    from packsim.report.charts.chart_files import chart_png, chart_svg
    from packsim.report.files.write import write_bytes, write_text

    check_chart(path, replace=replace)
    if Path(path).suffix.lower() == ".svg":
        write_text(Path(path), chart_svg(figure), replace=replace)
    else:
        write_bytes(Path(path), chart_png(figure, 200), replace=replace)
