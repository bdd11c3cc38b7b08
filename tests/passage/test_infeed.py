"""Where between the guides the pack comes onto the mat."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.line import Kicks
from packsim.passage.infeed import infeed_of
from packsim.passage.step import start, start_slice, step
from packsim.passage.track import build_track
from tests.passage.conftest import CAN, lane_width, make_stage

WIDTH = lane_width(8) + 6.0


@pytest.mark.parametrize(("enters", "left", "right"), [(0.0, 0.0, 6.0), (1.0, 6.0, 0.0)])
def test_the_pack_lies_at_the_guide_it_enters_at(enters, left, right) -> None:
    y = infeed_of(make_stage("in", width=WIDTH), CAN, 100.0, 100.0 + WIDTH, enters).place_mm.imag
    gaps = (y.min() - 33.0 - 100.0, 100.0 + WIDTH - 33.0 - y.max())
    assert gaps == pytest.approx((left, right), abs=1e-9)


@given(
    enters=st.floats(0.0, 1.0),
    lanes=st.integers(1, 12),
    slack=st.floats(0.0, 60.0),
    fill=st.floats(0.6, 1.0),
    layout=st.sampled_from(["lengthwise", "crosswise"]),
)
def test_entering_from_the_other_side_is_the_mirrored_pack(
    enters, lanes, slack, fill, layout
) -> None:
    width = lane_width(lanes) + slack
    stage = make_stage("in", width=width, fill=fill, layout=layout)
    one, other = (infeed_of(stage, CAN, 0.0, width, share) for share in (enters, 1.0 - enters))
    mirrored = width - other.place_mm.imag
    assert np.sort(one.place_mm.imag) == pytest.approx(np.sort(mirrored), abs=1e-6)
    inside = (one.place_mm.imag > 33.0 - 1e-6) & (one.place_mm.imag < width - 33.0 + 1e-6)
    assert inside.all()


def test_line_and_slice_start_where_the_pack_enters_and_stay_without_kicks(line) -> None:
    scenario = line(kicks=Kicks(0.0, 0.0))
    for share, gap in ((0.0, 0.0), (0.5, 3.0), (0.25, 1.5), (1.0, 6.0)):
        mat = replace(scenario.mat, pack_enters=share)
        track = build_track(replace(scenario, mat=mat), CAN)
        rng = np.random.default_rng(1)
        for state in (start(track, rng), start_slice(track, rng, 600.0)):
            after = state
            for _ in range(20):
                after, _ = step(after, track, 0.05, rng)
            for each in (state, after):
                assert each.y_mm.min() - 33.0 - track.left_mm[0] == pytest.approx(gap, abs=0.02)
