"""A drilled header: reach, moves and tolerance, against the other modules and by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.drilling import drill_header
from packsim.nozzles.lane_lines import misalignment
from packsim.nozzles.phase import best_phase


def best_shifts(sizes: Any, row: Any, pitch: float) -> list[float]:
    """The move of each size that puts it best on an endless row through a row."""
    off = [row[0] - best_phase(lines, [pitch]).for_worst_mm[0] for lines in sizes]
    return [float(o - pitch * np.round(o / pitch)) for o in off]


def test_one_size_on_its_own_pitch_stays_where_it_is() -> None:
    row = drill_header([100.0 + 57.0 * np.arange(12)], 57.0)
    assert row == pytest.approx(100.0 + 57.0 * np.arange(12))


def test_two_sizes_share_the_way() -> None:
    """Best phases 0 and 20 on a pitch of 60: the row goes to 10 and each moves 10."""
    sizes = [[0.0, 60.0, 120.0], [20.0, 80.0]]
    row = drill_header(sizes, 60.0)
    assert row == pytest.approx([10.0, 70.0, 130.0])
    assert sorted(best_shifts(sizes, row, 60.0)) == pytest.approx([-10.0, 10.0])


@given(
    st.lists(st.lists(st.floats(0.0, 900.0), min_size=1, max_size=8), min_size=1, max_size=4),
    st.floats(20.0, 120.0),
)
def test_the_finite_row_serves_as_well_as_an_endless_one(
    sizes: list[list[float]], pitch: float
) -> None:
    row = drill_header(sizes, pitch)
    assert np.diff(row) == pytest.approx(pitch, rel=1e-9)
    shifts = best_shifts(sizes, row, pitch)
    for lines, shift in zip(sizes, shifts, strict=True):
        endless = best_phase(lines, [pitch]).worst_mm[0]
        assert misalignment(np.array(lines) + shift, row).worst_mm == pytest.approx(
            endless, abs=1e-6
        )
    # no end nozzle is idle: each is the nearest of some line of some moved size
    if len(row) > 1:
        for short in (row[1:], row[:-1]):
            less = [
                misalignment(np.array(lines) + shift, short).per_lane_mm
                - misalignment(np.array(lines) + shift, row).per_lane_mm
                for lines, shift in zip(sizes, shifts, strict=True)
            ]
            assert max(float(np.max(np.abs(d))) for d in less) > 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: drill_header([], 60.0),
        lambda: drill_header([[]], 60.0),
        lambda: drill_header([[0.0]], 0.0),
        lambda: drill_header([[0.0, 1e6]], 10.0),
    ],
)
def test_bad_values_are_refused(call: Any) -> None:
    with pytest.raises(InputError):
        call()
