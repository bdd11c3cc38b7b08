"""The best phase of a nozzle row, against a fine scan and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.phase import best_phase, worst_at_best_phase_mm
from tests.nozzles.rows import best_shift

places = st.lists(st.floats(-300.0, 300.0), min_size=1, max_size=10)
pitches = st.floats(10.0, 120.0)


def scan(lines: list[float], pitch: float, count: int = 4001) -> tuple[float, float]:
    phase = np.linspace(0.0, pitch, count)
    off = np.asarray(lines)[None, :] - phase[:, None]
    off -= pitch * np.round(off / pitch)
    return float(np.min(np.max(np.abs(off), axis=1))), float(
        np.min(np.sqrt(np.mean(off**2, axis=1)))
    )


@given(places, pitches)
def test_no_phase_of_a_fine_scan_is_better(lines: list[float], pitch: float) -> None:
    found = best_phase(lines, [pitch])
    worst, rms = scan(lines, pitch)
    cell = pitch / 4000.0
    assert worst - cell <= found.worst_mm[0] <= worst + 1e-9
    assert rms - cell <= found.rms_mm[0] <= rms + 1e-7
    off = np.asarray(lines) - found.for_worst_mm[0]
    off -= pitch * np.round(off / pitch)
    assert np.max(np.abs(off)) == pytest.approx(found.worst_mm[0], abs=1e-9)
    assert 0.0 <= found.for_worst_mm[0] <= pitch
    assert worst_at_best_phase_mm(lines, [pitch])[0] == pytest.approx(found.worst_mm[0], abs=1e-12)


@given(places, st.floats(20.0, 120.0))
def test_agrees_with_the_best_shift_under_a_long_header(lines: list[float], pitch: float) -> None:
    """Two separate algorithms: arcs of a circle here, breakpoints of tents there."""
    nozzles = pitch * np.arange(math.floor(-500.0 / pitch), math.ceil(500.0 / pitch) + 1)
    shifted = best_shift(lines, nozzles, (pitch, pitch))
    phase = best_phase(lines, [pitch])
    assert shifted.worst_mm == pytest.approx(phase.worst_mm[0], abs=1e-8)
    assert shifted.rms_mm == pytest.approx(phase.rms_mm[0], abs=1e-7)


@pytest.mark.parametrize(("u", "v"), [(1, 1), (1, 3), (2, 1), (2, 3), (3, 2), (5, 4)])
def test_commensurate_pitch_has_its_closed_form(u: int, v: int) -> None:
    """Pitch a·u/v: lines fall on u points a/v apart, worst a(u − 1)/(2v)."""
    found = best_phase(60.0 * np.arange(30), [60.0 * u / v])
    assert found.worst_mm[0] == pytest.approx(60.0 * (u - 1) / (2 * v), abs=1e-9)


@given(places, pitches, st.integers(-4, 4), st.floats(0.2, 5.0))
def test_moves_by_a_pitch_mirror_and_scale(
    lines: list[float], pitch: float, turns: int, factor: float
) -> None:
    here = best_phase(lines, [pitch])
    for other, by in (
        (best_phase(np.asarray(lines) + turns * pitch, [pitch]), 1.0),
        (best_phase(-np.asarray(lines), [pitch]), 1.0),
        (best_phase(factor * np.asarray(lines), [factor * pitch]), factor),
    ):
        assert other.worst_mm[0] == pytest.approx(by * here.worst_mm[0], abs=1e-8)
        assert other.rms_mm[0] == pytest.approx(by * here.rms_mm[0], abs=1e-6)


def test_worst_never_exceeds_half_the_pitch_less_its_share() -> None:
    """m points on a circle leave an empty arc of at least p/m: worst at most (p − p/m)/2."""
    rng = np.random.default_rng(5)
    lines = rng.uniform(0.0, 2000.0, 17)
    at = np.linspace(30.0, 90.0, 500)
    assert np.all(best_phase(lines, at).worst_mm <= at * (1 - 1 / 17) / 2 + 1e-12)


@pytest.mark.parametrize("bad", [[0.0], [-5.0], [math.nan], [math.inf], [[50.0]]])
def test_bad_pitches_are_refused(bad: list[float]) -> None:
    with pytest.raises(InputError):
        best_phase([0.0, 1.0], bad)


@pytest.mark.parametrize("noise", [1e-12, -1e-12])
def test_of_equally_good_phases_the_one_nearest_the_middle_is_taken(noise: float) -> None:
    # three equal arcs of 20 round a circle of 60: opposite 0, 20 and 40; the middle is at 20
    for lines in ([noise, 20.0, 40.0], [0.0, 20.0 + noise, 40.0], [0.0, 20.0, 40.0 + noise]):
        assert best_phase(lines, [60.0]).for_worst_mm[0] == pytest.approx(20.0, abs=1e-9)
