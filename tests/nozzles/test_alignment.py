"""Where the can lines stand to the nozzles, against exact lattices and brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.constants import SIN60
from packsim.errors import InputError
from packsim.nozzles.lane_lines import misalignment, offsets_mm
from tests.nozzles.rows import shift_curve

D = 66.0
places = st.lists(st.floats(-500.0, 500.0), min_size=1, max_size=12)


def test_commensurate_pitch_puts_every_line_at_one_distance() -> None:
    lines = 100.0 + D * SIN60 * np.arange(20)
    found = misalignment(lines, 93.0 + D * SIN60 * np.arange(20))
    assert found.per_lane_mm == pytest.approx(np.full(20, 7.0))
    assert (found.worst_mm, found.rms_mm) == pytest.approx((7.0, 7.0))


def test_pitch_a_little_off_drifts_across_the_mat() -> None:
    line, off = D * SIN60, 0.4
    lines = line * np.arange(30)
    found = misalignment(lines, (line + off) * np.arange(30))
    assert found.per_lane_mm == pytest.approx(-off * np.arange(30))
    assert found.worst_lane == 29
    # mean square of k over 0..n-1 is (n-1)(2n-1)/6 (any text on sums)
    assert found.rms_mm == pytest.approx(off * math.sqrt(29 * 59 / 6))


def test_the_header_ends_somewhere() -> None:
    found = misalignment([0.0, 300.0], [0.0, 50.0, 100.0])
    assert (found.worst_mm, found.worst_lane) == (200.0, 1)
    with pytest.raises(ValueError, match="read-only"):
        found.per_lane_mm[0] = 0.0


@given(places, places, st.floats(-60.0, 60.0))
def test_offsets_against_every_nozzle_in_turn(
    lines: list[float], nozzles: list[float], shift: float
) -> None:
    found = misalignment(np.asarray(lines) + shift, nozzles)
    brute = [min(abs(line + shift - n) for n in nozzles) for line in lines]
    assert np.abs(found.per_lane_mm) == pytest.approx(brute, abs=1e-9)
    assert found.worst_mm == pytest.approx(max(brute), abs=1e-9)
    assert brute[found.worst_lane] == pytest.approx(max(brute), abs=1e-9)
    assert found.rms_mm == pytest.approx(math.sqrt(np.mean(np.square(brute))), abs=1e-9)
    worst, rms = shift_curve(lines, nozzles, [0.0, shift])
    assert (worst[1], rms[1]) == pytest.approx((found.worst_mm, found.rms_mm), abs=1e-9)


@given(places, places)
def test_mirror_and_scale(lines: list[float], nozzles: list[float]) -> None:
    here = misalignment(lines, nozzles)
    mirrored = misalignment(-np.asarray(lines), -np.asarray(nozzles))
    assert np.abs(mirrored.per_lane_mm) == pytest.approx(np.abs(here.per_lane_mm), abs=1e-9)
    scaled = misalignment(3.0 * np.asarray(lines), 3.0 * np.asarray(nozzles))
    assert scaled.worst_mm == pytest.approx(3.0 * here.worst_mm, abs=1e-9)


@given(st.lists(st.floats(0.0, 600.0), min_size=1, max_size=12), st.floats(5.0, 90.0))
def test_a_move_by_one_pitch_changes_nothing_under_a_long_header(
    lines: list[float], pitch: float
) -> None:
    nozzles = -500.0 + pitch * np.arange(math.ceil(1700.0 / pitch))
    here, moved = misalignment(lines, nozzles), misalignment(np.asarray(lines) + pitch, nozzles)
    assert moved.worst_mm == pytest.approx(here.worst_mm, abs=1e-9)
    assert moved.rms_mm == pytest.approx(here.rms_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("lines", "nozzles"), [([], [1.0]), ([1.0], []), ([math.nan], [1.0]), ([1.0], [math.inf])]
)
def test_no_place_or_no_number_is_refused(lines: list[float], nozzles: list[float]) -> None:
    with pytest.raises(InputError):
        misalignment(lines, nozzles)


def test_half_way_counts_from_the_left_nozzle() -> None:
    assert offsets_mm([125.0], [150.0, 100.0]).tolist() == [25.0]
