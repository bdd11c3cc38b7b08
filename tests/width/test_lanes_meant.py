"""The lane count a width is meant for, slack or strained."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.width.slack_terms import lanes_for


@pytest.mark.parametrize("layout", ["lengthwise", "crosswise"])
@given(st.integers(1, 40), st.floats(-0.49, 0.49))
def test_lanes_are_the_nearest_exact_fit(layout, lanes, off):
    pitch = 66.0 * (math.sqrt(3.0) / 2.0 if layout == "lengthwise" else 0.5)
    assume(lanes > 1 or off >= 0.0)
    width = 66.0 + (lanes - 1) * pitch + off * pitch
    choice = lanes_for(width, 66.0, layout)
    assert choice.lanes == lanes
    assert choice.slack_mm == pytest.approx(off * pitch, abs=1e-6)
    assert choice.strained == (choice.slack_mm < 0.0)
    assert choice.pack_width_mm == pytest.approx(66.0 + (lanes - 1) * pitch)


def test_no_lane_in_less_than_a_can():
    assert lanes_for(60.0, 66.0).lanes == 0


@given(st.floats(66.0, 3000.0), st.floats(0.5, 2.0))
def test_scaling(width, k):
    a, b = lanes_for(width, 66.0), lanes_for(width * k, 66.0 * k)
    assume(abs(abs(a.slack_mm) - 66.0 * math.sqrt(3.0) / 4.0) > 1e-6)  # not half way
    assert a.lanes == b.lanes
    assert b.slack_mm == pytest.approx(k * a.slack_mm, abs=1e-6)


def test_both_neighbours_are_told():
    choice = lanes_for(1160.0, 66.0)
    assert choice.why == "20 lanes leave 8.0 mm, 21 lanes are 49.2 mm short"


def test_unknown_layout_is_refused():
    with pytest.raises(InputError, match="lengthwise, crosswise"):
        lanes_for(1000.0, 66.0, "diagonal")
