"""Rows about answers without a passage: one stage, settings by the thousand, nozzles."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from packsim.answers import answer_stage
from packsim.answers.answer_settings import answer_settings
from packsim.answers.quantities import plain_quantities
from packsim.constants import SIN60
from packsim.line.knobs import knob
from packsim.nozzles.pitch import best_pitch
from tests.bench.scenes import SLEEK, swing_line
from tests.bench.table import Row
from tests.bench.timing import alternated
from tests.nozzles.rows import best_shift

Floats = NDArray[np.float64]

LANES = [
    d / 2 + d * SIN60 * np.arange(60) for d in (53.0, 57.4, 60.0, 62.0, 66.1, 70.0, 76.0, 83.5)
]
NOZZLES: Floats = 20.0 + 61.0 * np.arange(58)
TOLERANCE_MM = 1e-6


def answers(quick: bool) -> Iterator[Row]:
    """One stage with one size, and many settings of it."""
    line, width = swing_line(), knob("clear-width")
    wash = line.stages.index(line.stage("wash"))
    fresh = np.random.default_rng(14)

    def another() -> object:
        """A width nobody has asked for yet: nothing kept can help."""
        case = width.set(line, wash, float(fresh.uniform(1388.0, 1389.0)))
        return plain_quantities(answer_stage(case, "wash", SLEEK))

    def many() -> object:
        """Clear width, wire height, fill and pressure of every setting its own."""
        ranges = {
            "clear-width": (1366.0, 1396.0),
            "wire-height": (100.0, 130.0),
            "fill": (0.9, 1.0),
            "pressure": (0.5, 1.5),
        }
        values = {name: fresh.uniform(*ends, 10_000) for name, ends in ranges.items()}
        return answer_settings(line, "wash", SLEEK, values)

    spent = alternated({"one": another, "many": many}, 2 if quick else 15)
    name = "wash, sleek body"
    yield Row("one answer, nothing left out", f"{name}, as set", spent["one"], at_most=10.0)
    name += ": slack, window, safe slack, index"
    peer = "answers one by one, nothing left out"
    many_s, alone_s = spent["many"] / 1e3, 1e4 * spent["one"] / 1e3
    yield Row("10,000 settings", name, many_s, "s", peer, alone_s, at_most=0.5)


def nozzles(quick: bool) -> Iterator[Row]:
    """Best shift and best pitch, against grids that are refined until they are as sure."""
    sizes, rounds = (LANES[3:5], 1) if quick else (LANES, 5)
    lines, room = LANES[4], (30.0, 30.0)
    off = best_shift(lines, NOZZLES, room).worst_mm - shift_by_grid(lines, room)
    if abs(off) > 2.0 * TOLERANCE_MM:
        raise RuntimeError(f"the best shifts differ by {off} mm")
    off = best_pitch(sizes, 45.0, 75.0).worst_mm - pitch_by_grid(sizes, 45.0, 75.0)
    if abs(off) > 2.0 * TOLERANCE_MM:
        raise RuntimeError(f"the best pitches differ by {off} mm")
    peer = "numpy, a grid refined to 1e-6 mm"
    got = alternated(
        {
            "ours": lambda: best_shift(lines, NOZZLES, room),
            "grid": lambda: shift_by_grid(lines, room),
        },
        rounds,
    )
    name = "60 lanes, 58 nozzles, ±30 mm"
    yield Row("best shift", name, got["ours"], "ms", peer, got["grid"], at_least=1.0)
    got = alternated(
        {
            "ours": lambda: best_pitch(sizes, 45.0, 75.0),
            "grid": lambda: pitch_by_grid(sizes, 45.0, 75.0),
        },
        rounds,
    )
    name = f"{len(sizes)} sizes of 60 lanes, 45 to 75 mm"
    yield Row("best pitch", name, got["ours"], "ms", peer, got["grid"], at_least=1.0)


def shift_by_grid(lines: Floats, room: tuple[float, float]) -> float:
    """Least worst distance; the worst changes by at most 1 mm a mm."""

    def worst(shift: Floats) -> Floats:
        places = lines + shift[:, None]
        after = np.searchsorted(NOZZLES, places).clip(1, NOZZLES.size - 1)
        near = np.minimum(np.abs(places - NOZZLES[after - 1]), np.abs(places - NOZZLES[after]))
        return near.max(axis=1)

    return _refined(worst, -room[0], room[1], 0.5, 1.0)


def pitch_by_grid(sizes: list[Floats], low: float, high: float) -> float:
    """Least of the worst distances of several sizes, each at its own best shift."""

    def worst(pitch: Floats) -> Floats:
        found = np.zeros(pitch.size)
        for lines in sizes:
            rest = np.sort(lines % pitch[:, None], axis=1)
            widest = np.diff(rest, axis=1).max(axis=1)
            widest = np.maximum(widest, rest[:, 0] + pitch - rest[:, -1])
            np.maximum(found, (pitch - widest) / 2.0, out=found)
        return found

    steepest = max(1.0 + float(np.ptp(lines)) / low for lines in sizes)
    return _refined(worst, low, high, 0.02, steepest)


def _refined(value: object, low: float, high: float, step: float, steepest: float) -> float:
    """Least of a function that is nowhere steeper: cells that cannot hold it are dropped."""
    middle = np.arange(low + step / 2.0, high, step)
    best = float("inf")
    while True:
        found = value(middle)
        best = min(best, float(found.min()))
        slack = steepest * step / 2.0
        if slack <= TOLERANCE_MM:
            return best
        kept = middle[found - slack < best - TOLERANCE_MM]
        if kept.size == 0:
            return best
        step /= 4.0
        middle = (kept[:, None] + step * np.array([-1.5, -0.5, 0.5, 1.5])).ravel()
