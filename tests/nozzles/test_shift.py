"""The best shift of a pack, against brute force, scipy and closed forms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brute, minimize_scalar

from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.nozzles.lane_lines import misalignment
from tests.nozzles.rows import best_shift, shift_curve

places = st.lists(st.floats(0.0, 400.0), min_size=1, max_size=8)
rooms = st.floats(0.0, 90.0)


def test_commensurate_pitch_can_be_met_exactly() -> None:
    lines = 120.0 + 66.0 * SIN60 * np.arange(25)
    nozzles = 111.5 + 66.0 * SIN60 * np.arange(25)
    found = best_shift(lines, nozzles, (30.0, 30.0))
    assert found.shift_for_worst_mm == pytest.approx(-8.5, abs=1e-9)
    assert found.worst_mm == pytest.approx(0.0, abs=1e-9)
    assert found.rms_mm == pytest.approx(0.0, abs=1e-9)
    assert not found.limited_by_room


def test_twice_the_pitch_leaves_a_quarter_of_it() -> None:
    """Every second line midway: residues 0 and p/2 of the nozzle pitch, best worst p/4."""
    lines = 30.0 * np.arange(20)
    found = best_shift(lines, 60.0 * np.arange(-3, 14), (60.0, 60.0))
    assert found.worst_mm == pytest.approx(15.0)
    assert found.rms_mm == pytest.approx(15.0)
    assert abs(found.shift_for_worst_mm) == pytest.approx(15.0)


def test_a_full_drift_round_the_pitch_leaves_half_the_pitch_less_half_a_step() -> None:
    """Residues spread evenly round the pitch at step g: worst (p − g)/2, whatever the shift."""
    step, count = 2.0, 25
    pitch = step * count
    found = best_shift((pitch + step) * np.arange(count), pitch * np.arange(-2, 30), (50.0, 50.0))
    assert found.worst_mm == pytest.approx((pitch - step) / 2.0)
    # residues ±k·step about the nozzle, k = 0..12: mean square step² · 2·Σk²/25
    assert found.rms_mm == pytest.approx(step * math.sqrt(2 * (12 * 13 * 25 / 6) / count))


@given(places, places, rooms, rooms)
def test_no_shift_on_a_fine_grid_beats_it(
    lines: list[float], nozzles: list[float], left: float, right: float
) -> None:
    found = best_shift(lines, nozzles, (left, right))
    grid = np.linspace(-left, right, 3001)
    worst, rms = shift_curve(lines, nozzles, grid)
    cell = (left + right) / 3000.0
    assert found.worst_mm <= np.min(worst) + 1e-9
    assert found.worst_mm >= np.min(worst) - cell - 1e-9
    assert found.rms_mm <= np.min(rms) + 1e-9
    assert found.rms_mm >= np.min(rms) - cell - 1e-9
    for shift in (found.shift_for_worst_mm, found.shift_for_rms_mm):
        assert -left - 1e-12 <= shift <= right + 1e-12
    at = misalignment(np.asarray(lines) + found.shift_for_worst_mm, nozzles)
    assert at.worst_mm == pytest.approx(found.worst_mm, abs=2e-9)
    at = misalignment(np.asarray(lines) + found.shift_for_rms_mm, nozzles)
    assert at.rms_mm == pytest.approx(found.rms_mm, abs=2e-9)


@pytest.mark.parametrize("seed", range(6))
def test_scipy_finds_the_same_optimum(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lines = np.cumsum(rng.uniform(40.0, 70.0, 12))
    nozzles = np.cumsum(rng.uniform(40.0, 70.0, 13))
    found = best_shift(lines, nozzles, (40.0, 40.0))

    def rms(shift: NDArray[np.float64] | float) -> float:
        return misalignment(lines + float(np.squeeze(shift)), nozzles).rms_mm

    start = float(brute(rms, [(-40.0, 40.0)], Ns=801, finish=None))
    polished = minimize_scalar(
        rms,
        bounds=(max(-40.0, start - 0.1), min(40.0, start + 0.1)),
        method="bounded",
        options={"xatol": 1e-10},
    )
    # scipy never steps onto a bound and stops some 1e-6 mm short of a kink
    assert polished.fun - 1e-5 <= found.rms_mm <= polished.fun + 1e-12
    assert found.shift_for_rms_mm == pytest.approx(polished.x, abs=1e-4)


def test_room_holds_the_pack_back_and_says_so() -> None:
    lines = 10.0 + 50.0 * np.arange(6)
    nozzles = 50.0 * np.arange(8)
    held = best_shift(lines, nozzles, (4.0, 25.0))
    assert (held.shift_for_worst_mm, held.worst_mm) == pytest.approx((-4.0, 6.0))
    assert held.limited_by_room
    free = best_shift(lines, nozzles, (10.0, 0.0))
    assert (free.shift_for_worst_mm, free.worst_mm) == pytest.approx((-10.0, 0.0))
    assert not free.limited_by_room
    fixed = best_shift(lines, nozzles, (0.0, 0.0))
    assert (fixed.shift_for_worst_mm, fixed.worst_mm, fixed.rms_mm) == pytest.approx((0, 10, 10))
    assert fixed.limited_by_room


def test_a_header_out_of_reach_is_followed_where_there_is_room() -> None:
    found = best_shift([0.0, 50.0], [900.0, 950.0], (0.0, 1000.0))
    assert (found.shift_for_worst_mm, found.worst_mm) == pytest.approx((900.0, 0.0))
    assert not found.limited_by_room
    assert best_shift([0.0, 50.0], [900.0, 950.0], (100.0, 100.0)).limited_by_room


def test_of_equal_shifts_the_smaller_then_the_left_is_taken() -> None:
    lines, nozzles = [25.0, 75.0], [0.0, 50.0, 100.0, 150.0]
    found = best_shift(lines, nozzles, (25.0, 25.0))
    assert found.shift_for_worst_mm == found.shift_for_rms_mm == -25.0
    assert best_shift(lines, nozzles, (20.0, 25.0)).shift_for_worst_mm == 25.0


def test_weights_pull_the_mean_square_only() -> None:
    lines, nozzles = [3.0, 57.0], [0.0, 60.0]
    even = best_shift(lines, nozzles, (20.0, 20.0))
    assert even.shift_for_rms_mm == pytest.approx(0.0)
    heavy = best_shift(lines, nozzles, (20.0, 20.0), weights=[3.0, 1.0])
    # offsets +3 and −3: least at −(3·3 − 1·3)/4 = −1.5
    assert heavy.shift_for_rms_mm == pytest.approx(-1.5)
    assert heavy.rms_mm == pytest.approx(math.sqrt((3 * 1.5**2 + 4.5**2) / 4))
    assert heavy.shift_for_worst_mm == pytest.approx(0.0)
    turned = best_shift(lines[::-1], nozzles, (20.0, 20.0), weights=[1.0, 3.0])
    assert turned == heavy


@given(places, places, rooms, rooms, st.floats(0.1, 10.0))
def test_mirror_and_scale(
    lines: list[float], nozzles: list[float], left: float, right: float, factor: float
) -> None:
    here = best_shift(lines, nozzles, (left, right))
    mirrored = best_shift(-np.asarray(lines), -np.asarray(nozzles), (right, left))
    assert mirrored.worst_mm == pytest.approx(here.worst_mm, abs=1e-9)
    assert mirrored.rms_mm == pytest.approx(here.rms_mm, abs=1e-9)
    scaled = best_shift(
        factor * np.asarray(lines), factor * np.asarray(nozzles), (factor * left, factor * right)
    )
    assert scaled.worst_mm == pytest.approx(factor * here.worst_mm, abs=1e-8)
    assert scaled.rms_mm == pytest.approx(factor * here.rms_mm, abs=1e-8)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"lines_mm": []}, "lines_mm"),
        ({"nozzles_mm": [math.nan]}, "nozzles_mm"),
        ({"room_mm": (-1.0, 2.0)}, "room_mm"),
        ({"room_mm": (math.nan, 2.0)}, "room_mm"),
        ({"room_mm": (1.0, math.inf)}, "room_mm"),
        ({"weights": [1.0, 1.0, 1.0]}, "weights"),
        ({"weights": [0.0, 0.0]}, "weights"),
        ({"weights": [-1.0, 2.0]}, "weights"),
    ],
)
def test_bad_values_are_named(change: dict[str, object], key: str) -> None:
    good: dict[str, Any] = {
        "lines_mm": [0.0, 50.0],
        "nozzles_mm": [0.0, 60.0],
        "room_mm": (5.0, 5.0),
    }
    with pytest.raises(InputError) as refused:
        best_shift(**(good | change))
    assert refused.value.key == key
