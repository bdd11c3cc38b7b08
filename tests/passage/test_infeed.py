"""Where between the guides the pack comes onto the mat."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.constants import CONTACT_TOL_REL
from packsim.line import Kicks, Mat
from packsim.passage.infeed import infeed_of
from packsim.passage.step import start, start_slice, step
from packsim.passage.track import build_track
from tests.passage.conftest import CAN, lane_width, make_stage

WIDTH = lane_width(8) + 6.0


def entering(share: float) -> Mat:
    return Mat(1600.0, 90.0, pack_enters=share)


@pytest.mark.parametrize(("enters", "left", "right"), [(0.0, 0.0, 6.0), (1.0, 6.0, 0.0)])
def test_the_pack_lies_at_the_guide_it_enters_at(enters, left, right) -> None:
    y = infeed_of(
        make_stage("in", width=WIDTH), CAN, 100.0, 100.0 + WIDTH, entering(enters)
    ).place_mm.imag
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
    one, other = (
        infeed_of(stage, CAN, 0.0, width, entering(share)) for share in (enters, 1.0 - enters)
    )
    mirrored = width - other.place_mm.imag
    # slack within a contact tolerance is none: a pack with just that stands at one side of it
    slack = abs(width - 66.0 - np.ptp(mirrored))
    off = 1e-9 + (slack if slack <= 66.0 * CONTACT_TOL_REL else 0.0)
    assert np.sort(one.place_mm.imag) == pytest.approx(np.sort(mirrored), abs=off)
    inside = (one.place_mm.imag > 33.0 - off) & (one.place_mm.imag < width - 33.0 + off)
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


def test_dented_cans_come_as_often_and_as_much_narrower_as_said() -> None:
    mat = Mat(1600.0, 90.0, odd_share=0.2, odd_by_mm=3.0)
    radii = infeed_of(make_stage("in", width=WIDTH), CAN, 0.0, WIDTH, mat).radii_mm(
        20_000, np.random.default_rng(3)
    )
    assert set(np.round(radii, 9)) == {33.0, 31.5}
    assert np.mean(radii < 33.0) == pytest.approx(0.2, abs=0.01)


def test_a_step_at_a_bracket_pushes_the_pack_in_there_and_nowhere_else(line) -> None:
    scenario = line(slacks=(6.0,))
    stage = scenario.stages[0]
    stepped = replace(stage, guides=replace(stage.guides, step_mm=1.5))
    plain = build_track(scenario, CAN)
    found = build_track(scenario.with_stages((stepped,)), CAN)
    at = [bracket.station_mm for bracket in stage.guides.brackets]
    near = np.min(np.abs(found.station_mm[:, None] - np.array(at)), axis=1)
    assert found.left_mm - plain.left_mm == pytest.approx(np.where(near <= 2.0, 1.5, 0.0))
    assert plain.right_mm - found.right_mm == pytest.approx(np.where(near <= 2.0, 1.5, 0.0))
    # a disc of 33 mm radius is off a step of 1.5 mm once it is √(33² − 31.5²) = 9.8 mm past it
    assert found.low_mm[near > 12.0] == pytest.approx(plain.low_mm[near > 12.0])
    assert found.low_mm[near <= 1.0] == pytest.approx(plain.low_mm[near <= 1.0] + 1.5, abs=0.02)
