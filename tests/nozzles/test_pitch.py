"""The choice of a nozzle pitch, against fine scans, closed forms and scipy."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from packsim.constants import PITCH_TOL_MM, SIN60
from packsim.errors import InputError
from packsim.nozzles.phase import best_phase
from packsim.nozzles.pitch import best_pitch, pitch_curve


def pack(diameter: float, width: float = 900.0) -> np.ndarray[Any, np.dtype[np.float64]]:
    lanes = int((width - diameter) / (diameter * SIN60)) + 1
    return diameter / 2 + diameter * SIN60 * np.arange(lanes)


SIZES = [pack(53.0), pack(57.5), pack(66.1)]


def test_one_size_alone_gets_its_own_line_pitch() -> None:
    found = best_pitch([pack(66.1)], 40.0, 80.0)
    assert found.pitch_mm == pytest.approx(66.1 * SIN60, abs=1e-8)
    assert found.worst_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("span", [(45.0, 58.0), (35.0, 70.0)])
def test_no_pitch_of_a_fine_scan_is_better(count: int, span: tuple[float, float]) -> None:
    sizes = SIZES[:count]
    found = best_pitch(sizes, *span)
    scan = np.linspace(*span, 20001)
    top = np.max(pitch_curve(sizes, scan), axis=1)
    slope = max(1.0 + np.ptp(s) / span[0] for s in sizes)
    cell = (span[1] - span[0]) / 20000.0
    assert found.worst_mm <= np.min(top) + PITCH_TOL_MM
    assert found.worst_mm >= np.min(top) - slope * cell
    at = np.max(pitch_curve(sizes, [found.pitch_mm]))
    assert at == pytest.approx(found.worst_mm, abs=2 * PITCH_TOL_MM)


@settings(max_examples=min(25, settings().max_examples))
@given(
    st.lists(
        st.lists(st.floats(0.0, 300.0), min_size=1, max_size=6, unique=True),
        min_size=1,
        max_size=3,
    ),
    st.lists(st.floats(0.3, 3.0), min_size=3, max_size=3),
)
def test_uneven_lines_and_weights_against_a_fine_scan(
    sizes: list[list[float]], weights: list[float]
) -> None:
    weight = weights[: len(sizes)]
    found = best_pitch(sizes, 30.0, 80.0, weights=weight)
    scan = np.linspace(30.0, 80.0, 10001)
    top = np.max(pitch_curve(sizes, scan, weight), axis=1)
    assert found.worst_mm <= np.min(top) + PITCH_TOL_MM


def test_scipy_cannot_improve_on_it() -> None:
    found = best_pitch(SIZES, 45.0, 58.0)
    for start in np.linspace(45.0, 58.0, 27)[:-1]:
        other = minimize_scalar(
            lambda p: float(np.max(pitch_curve(SIZES, [p]))),
            bounds=(start, start + 0.5),
            method="bounded",
        )
        assert found.worst_mm <= other.fun + PITCH_TOL_MM


def test_the_worst_is_that_of_the_phases() -> None:
    weights = [1.0, 2.0, 1.0]
    found = best_pitch(SIZES, 45.0, 58.0, weights=weights)
    phases = [best_phase(lines, [found.pitch_mm]).worst_mm[0] for lines in SIZES]
    assert max(np.array(phases) * weights) == pytest.approx(found.worst_mm, abs=1e-6)


def test_weight_buys_alignment_for_its_size() -> None:
    pitches = [best_pitch(SIZES[1:], 45.0, 60.0, weights=[1.0, w]).pitch_mm for w in (1.0, 20.0)]
    even, heavy = (best_phase(SIZES[2], [pitch]).worst_mm[0] for pitch in pitches)
    assert heavy < even


@given(st.floats(30.0, 90.0), st.floats(0.2, 5.0))
def test_scaling_everything_scales_the_answer(diameter: float, factor: float) -> None:
    lines = pack(diameter, 500.0)
    here = best_pitch([lines], 40.0, 60.0)
    there = best_pitch([factor * lines], factor * 40.0, factor * 60.0)
    assert there.worst_mm == pytest.approx(factor * here.worst_mm, abs=1e-5)


@pytest.mark.parametrize(
    ("call", "key"),
    [
        (lambda: best_pitch([], 40.0, 60.0), "lines_by_size_mm"),
        (lambda: best_pitch([[]], 40.0, 60.0), "lines_by_size_mm[0]"),
        (lambda: best_pitch(SIZES, 60.0, 40.0), "high_mm"),
        (lambda: best_pitch(SIZES, 0.0, 40.0), "low_mm"),
        (lambda: best_pitch(SIZES, 40.0, 60.0, weights=[1.0, 1.0]), "weights"),
        (lambda: best_pitch(SIZES, 40.0, 60.0, weights=[1.0, 0.0, 1.0]), "weights"),
    ],
)
def test_bad_values_are_named(call: Any, key: str) -> None:
    with pytest.raises(InputError) as refused:
        call()
    assert refused.value.key == key
