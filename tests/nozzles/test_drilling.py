"""A drilled header: reach, moves and tolerance, against the other modules and by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.drilling import drill_header
from packsim.nozzles.lane_lines import misalignment
from packsim.nozzles.phase import best_phase


def test_one_size_on_its_own_pitch_stays_where_it_is() -> None:
    row = drill_header([100.0 + 57.0 * np.arange(12)], 57.0, tolerance_mm=0.3)
    assert row.positions_mm == pytest.approx(100.0 + 57.0 * np.arange(12))
    assert row.shifts_mm == pytest.approx([0.0], abs=1e-9)
    assert row.worst_with_tolerance_mm == pytest.approx([0.3], abs=1e-9)


def test_two_sizes_share_the_way() -> None:
    """Best phases 0 and 20 on a pitch of 60: the row goes to 10 and each moves 10."""
    row = drill_header([[0.0, 60.0, 120.0], [20.0, 80.0]], 60.0)
    assert np.sort(row.shifts_mm) == pytest.approx([-10.0, 10.0])
    assert row.positions_mm == pytest.approx([10.0, 70.0, 130.0])
    assert row.worst_mm == pytest.approx([0.0, 0.0], abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.lists(st.floats(0.0, 900.0), min_size=1, max_size=8), min_size=1, max_size=4),
    st.floats(20.0, 120.0),
)
def test_the_finite_row_serves_as_well_as_an_endless_one(
    sizes: list[list[float]], pitch: float
) -> None:
    row = drill_header(sizes, pitch)
    assert np.diff(row.positions_mm) == pytest.approx(pitch, rel=1e-9)
    assert np.all(np.abs(row.shifts_mm) <= pitch / 2 + 1e-9)
    for i, lines in enumerate(sizes):
        endless = best_phase(lines, [pitch]).worst_mm[0]
        assert row.worst_mm[i] == pytest.approx(endless, abs=1e-6)
    # no end nozzle is idle: each is the nearest of some line of some moved size
    if len(row.positions_mm) > 1:
        for short in (row.positions_mm[1:], row.positions_mm[:-1]):
            less = [
                misalignment(lines + shift, short).per_lane_mm
                - misalignment(lines + shift, row.positions_mm).per_lane_mm
                for lines, shift in zip(sizes, row.shifts_mm, strict=True)
            ]
            assert max(float(np.max(np.abs(d))) for d in less) > 0.0


def test_every_hole_off_its_own_way_stays_within_the_stated_worst() -> None:
    rng = np.random.default_rng(3)
    lines = 40.0 + 57.2 * np.arange(20)
    row = drill_header([lines], 55.0, tolerance_mm=0.8)
    for _ in range(200):
        holes = row.positions_mm + rng.uniform(-0.8, 0.8, len(row.positions_mm))
        worst = misalignment(lines + row.shifts_mm[0], holes).worst_mm
        assert worst <= row.worst_with_tolerance_mm[0] + 1e-9


@pytest.mark.parametrize(
    "call",
    [
        lambda: drill_header([], 60.0),
        lambda: drill_header([[]], 60.0),
        lambda: drill_header([[0.0]], 0.0),
        lambda: drill_header([[0.0]], 60.0, tolerance_mm=-0.1),
        lambda: drill_header([[0.0, 1e6]], 10.0),
    ],
)
def test_bad_values_are_refused(call: Any) -> None:
    with pytest.raises(InputError):
        call()
