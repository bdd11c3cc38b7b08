"""The kinds of cases, in turn: the five kills, the three other ends, and two of the places."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial

import numpy as np

from tests.faults import places, streams
from tests.faults.case import COMMANDS, Case, lasts, put
from tests.fuzz.case import pick
from tests.tried import End

Rng = np.random.Generator
NOISE_S = 0.3
"""A process is as quick as the machine is free: moments go on so long after its usual end [s]."""


def ended_at_any_moment(number: int, name: str, rng: Rng) -> Case:
    """A command that a signal ends, by the clock or at a line of writing, and is asked again."""
    seconds, lines = lasts(name)
    by_clock = bool(rng.random() < 0.5)
    moment = 0 if by_clock else int(rng.integers(1, lines + 1))
    with put(name) as case:
        with case.started("--replace", moment=moment, number=number) as process:
            if by_clock:
                time.sleep(float(rng.uniform(0.0, seconds + NOISE_S)))
                # a kill is for one process; the others come from a terminal, to all of its group
                send = process.send_signal if number == signal.SIGKILL else partial(
                    _to_group, process.pid)  # fmt: skip
                send(number)
        case.expect(case.code in (0, -number, 128 + number), f"exit code {case.code}")
        # until the program has been loaded it is Python that ends, and says so its own way
        said = "cli/app.py" in case.err or "Exception ignored" in case.err
        case.expect(not said, "a traceback of the program's")
        case.whole(old=True, new=True)
        case.goes_on()
        return case


def _to_group(group: int, number: int) -> None:
    with suppress(ProcessLookupError):
        os.killpg(group, number)


def _any_command(number: int, rng: Rng) -> Case:
    return ended_at_any_moment(number, pick(rng, list(COMMANDS)), rng)


KILLS: dict[str, Callable[[Rng], Case]] = {
    f"kill -9, {name}": partial(ended_at_any_moment, signal.SIGKILL, name) for name in COMMANDS
}
ENDS: dict[str, Callable[[Rng], Case]] = {
    name: partial(_any_command, number)
    for name, number in (("Ctrl-C, workers too", signal.SIGINT), ("SIGTERM", signal.SIGTERM),
                         ("SIGHUP", signal.SIGHUP))
}  # fmt: skip
OTHERS: dict[str, Callable[[Rng], Case]] = {**places.KINDS, **streams.KINDS}


def kind_of(number: int) -> str:
    """The kind of a case: ten in turn, of which two go through all the other kinds."""
    turn, at = divmod(number, len(KILLS) + len(ENDS) + 2)
    return [*KILLS, *ENDS, *(list(OTHERS)[(2 * turn + i) % len(OTHERS)] for i in (0, 1))][at]


def ended_cases(seed: int, numbers: range) -> Iterator[End]:
    """Run the cases with these numbers, one after another, and yield how each ended."""
    for number in numbers:
        kind, began = kind_of(number), time.perf_counter()
        try:
            case = (KILLS | ENDS | OTHERS)[kind](np.random.default_rng([seed, number]))
        except places.NotHereError as why:
            yield {"number": number, "kind": kind, "skipped": str(why)}
            continue
        yield {
            "number": number,
            "kind": kind,
            "words": " ".join(case.words),
            "code": case.code,
            "took": time.perf_counter() - began,
            "wrong": case.wrong,
            "said": case.err[-1500:],
        }
