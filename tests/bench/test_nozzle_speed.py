"""Speed of the nozzle searches, as a ratio to scipy doing the same job in the same run."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

import numpy as np
import pytest
from scipy.optimize import brute, minimize_scalar

from packsim.constants import SIN60
from packsim.nozzles.lane_lines import misalignment
from packsim.nozzles.phase import best_phase
from packsim.nozzles.pitch import best_pitch, pitch_curve
from tests.nozzles.rows import best_shift

T = TypeVar("T")

DIAMETERS = (53.0, 57.4, 60.0, 62.0, 66.1, 70.0, 76.0, 83.5)
SIZES = [d / 2 + d * SIN60 * np.arange(60) for d in DIAMETERS]


def seconds(call: Callable[[], T], rounds: int = 5) -> tuple[float, T]:
    """Least time of some rounds, and what the call gave."""
    best = np.inf
    for _ in range(rounds):
        started = time.perf_counter()
        got = call()
        best = min(best, time.perf_counter() - started)
    return best, got


def test_best_shift_against_scipy_brute() -> None:
    """scipy.optimize.brute with a 0.1 mm grid and polish: far slower and not exact."""
    nozzles = 20.0 + 61.0 * np.arange(58)

    def peer() -> float:
        def worst(shift: object) -> float:
            return misalignment(SIZES[4] + float(np.squeeze(shift)), nozzles).worst_mm

        start = float(brute(worst, [(-30.0, 30.0)], Ns=601, finish=None))
        bounds = (max(-30.0, start - 0.1), min(30.0, start + 0.1))
        return float(minimize_scalar(worst, bounds=bounds, method="bounded").fun)

    ours, found = seconds(lambda: best_shift(SIZES[4], nozzles, (30.0, 30.0)))
    theirs, other = seconds(peer, rounds=1)
    print(f"\nbest shift: {ours * 1e3:.2f} ms, scipy {theirs * 1e3:.0f} ms, {theirs / ours:.0f}x")
    assert found.worst_mm <= other + 1e-9
    assert theirs > 3.0 * ours


def test_sweep_of_sixty_lanes_eight_sizes_five_hundred_pitches() -> None:
    pitches = np.linspace(40.0, 80.0, 500)
    ours, found = seconds(lambda: [best_phase(lines, pitches) for lines in SIZES])
    lines = SIZES[4]

    def peer() -> float:
        def worst(phase: float) -> float:
            off = lines - phase
            off -= pitches[250] * np.round(off / pitches[250])
            return float(np.max(np.abs(off)))

        start = float(brute(lambda x: worst(float(x[0])), [(0.0, pitches[250])], finish=None))
        return float(minimize_scalar(worst, bounds=(start - 3, start + 3), method="bounded").fun)

    one, other = seconds(peer, rounds=3)
    theirs = one * 500 * 8
    print(f"\nsweep: {ours * 1e3:.0f} ms, scipy some {theirs:.1f} s, {theirs / ours:.0f}x")
    assert found[4].worst_mm[250] <= other + 1e-9
    assert ours < 1.0
    assert theirs > 3.0 * ours


def test_best_pitch_of_eight_sizes_against_a_scipy_scan() -> None:
    def peer() -> float:
        value = np.inf
        for low in np.arange(45.0, 75.0, 0.25):
            got = minimize_scalar(
                lambda p: float(np.max(pitch_curve(SIZES, [p]))),
                bounds=(low, low + 0.25),
                method="bounded",
            )
            value = min(value, float(got.fun))
        return value

    ours, found = seconds(lambda: best_pitch(SIZES, 45.0, 75.0), rounds=2)
    theirs, other = seconds(peer, rounds=1)
    print(
        f"\nbest pitch: {ours:.2f} s to {found.worst_mm:.4f} mm, "
        f"scipy {theirs:.2f} s to {other:.4f} mm"
    )
    assert found.worst_mm <= other + 1e-6
    assert ours < theirs
    assert found.certified_mm == pytest.approx(1e-6)
