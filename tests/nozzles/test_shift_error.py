"""What a shift error can do, against a fine scan and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.lane_lines import misalignment, shift_curve
from packsim.nozzles.shift_error import shift_sensitivity

places = st.lists(st.floats(-500.0, 500.0), min_size=1, max_size=12)


@settings(max_examples=60)
@given(places, places, st.floats(0.0, 40.0))
def test_shift_error_band_against_a_fine_scan(
    lines: list[float], nozzles: list[float], error: float
) -> None:
    found = shift_sensitivity(lines, nozzles, 0.0, error)
    scanned, _ = shift_curve(lines, nozzles, np.linspace(-error, error, 2001))
    grid = error / 1000.0
    assert np.max(scanned) - 1e-9 <= found.worst_mm <= np.max(scanned) + grid + 1e-9
    assert found.worst_mm <= misalignment(lines, nozzles).worst_mm + error + 1e-9


def test_slopes_say_which_way_helps() -> None:
    one_sided = shift_sensitivity([107.0, 152.0], [100.0, 150.0, 200.0], 0.0, 1.0)
    assert one_sided.cost_per_mm == (-1.0, 1.0)
    assert (one_sided.worst_mm, one_sided.lanes_at_worst) == (8.0, 1)
    balanced = shift_sensitivity([107.0, 143.0], [100.0, 150.0, 200.0], 0.0, 1.0)
    assert balanced.cost_per_mm == (1.0, 1.0)
    assert balanced.lanes_at_worst == 2
    at_peak = shift_sensitivity([125.0], [100.0, 150.0], 0.0, 5.0)
    assert at_peak.cost_per_mm == (-1.0, -1.0)
    assert at_peak.worst_mm == 25.0


@pytest.mark.parametrize(("shift", "error"), [(math.nan, 1.0), (0.0, -1.0), (0.0, math.inf)])
def test_bad_values_are_refused(shift: float, error: float) -> None:
    with pytest.raises(InputError):
        shift_sensitivity([1.0], [2.0], shift, error)
