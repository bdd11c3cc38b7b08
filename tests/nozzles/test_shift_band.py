"""What a shift error can do, against a fine scan and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.nozzles.lane_lines import misalignment
from packsim.nozzles.shift import with_error
from tests.nozzles.rows import facing, shift_curve

places = st.lists(st.floats(-500.0, 500.0), min_size=1, max_size=12)


@given(places, places, st.floats(0.0, 40.0))
def test_shift_error_band_against_a_fine_scan(
    lines: list[float], nozzles: list[float], error: float
) -> None:
    most, _ = with_error([facing(lines, nozzles)], 0.0, error)
    scanned, _ = shift_curve(lines, nozzles, np.linspace(-error, error, 2001))
    grid = error / 1000.0
    assert np.max(scanned) - 1e-9 <= most <= np.max(scanned) + grid + 1e-9
    assert most <= misalignment(lines, nozzles).worst_mm + error + 1e-9


def test_slopes_say_which_way_helps() -> None:
    row = [100.0, 150.0, 200.0]
    one_sided, balanced = facing([107.0, 152.0], row), facing([107.0, 143.0], row)
    assert with_error([one_sided], 0.0, 1.0) == (8.0, (-1.0, 1.0))
    assert with_error([balanced], 0.0, 1.0)[1] == (1.0, 1.0)
    assert with_error([facing([125.0], [100.0, 150.0])], 0.0, 5.0) == (25.0, (-1.0, -1.0))


def test_the_slopes_are_those_of_the_rows_that_are_worst() -> None:
    worst, near = facing([107.0], [100.0]), facing([98.0], [100.0])
    assert with_error([near, worst], 0.0, 1.0) == (8.0, (-1.0, 1.0))
    assert with_error([facing([93.0], [100.0]), worst], 0.0, 1.0) == (8.0, (1.0, 1.0))


def test_on_the_nozzles_every_move_costs_what_it_is() -> None:
    assert with_error([facing([100.0], [100.0])], 0.0, 2.0) == (2.0, (1.0, 1.0))


@pytest.mark.parametrize(("shift", "error"), [(math.nan, 1.0), (0.0, -1.0), (0.0, math.inf)])
def test_bad_values_are_refused(shift: float, error: float) -> None:
    with pytest.raises(InputError):
        with_error([facing([1.0], [2.0])], shift, error)
