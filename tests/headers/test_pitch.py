"""The pitch of a new header: closed forms, brute force, and what each candidate means."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from packsim.catalogue import custom_can
from packsim.errors import InputError
from packsim.headers import PitchWish, advise_pitch
from packsim.headers.pitch import least_evenness
from packsim.line import Scenario
from packsim.nozzles.lane_lines import misalignment
from packsim.setting import recommend
from packsim.size_change import plan_change
from packsim.spray.dose import dose
from packsim.spray.uniformity import christiansen

DIAMETER = 66.0
PITCH = DIAMETER * math.sqrt(3.0) / 2.0

Make = Callable[..., Any]


def brute_worst(lines: np.ndarray, pitch: float) -> float:
    """Least over 2000 phases of the worst distance to an endless row, by plain remainders."""
    phase = np.linspace(0.0, pitch, 2000, endpoint=False)
    rest = np.mod(lines[None, :] - phase[:, None], pitch)
    return float(np.min(np.max(np.minimum(rest, pitch - rest), axis=1)))


def test_one_size_gets_its_own_lanes(washer: Make, first_lane_mm: Make) -> None:
    (advice,) = advise_pitch(washer())
    assert advice.best.pitch_mm == pytest.approx(PITCH, abs=1e-6)
    assert advice.best.worst_mm == pytest.approx(0.0, abs=1e-6)
    np.testing.assert_allclose(
        advice.drilling.positions_mm, first_lane_mm() + PITCH * np.arange(10), atol=1e-6
    )
    assert advice.candidates[0].count == 10
    assert np.isnan(advice.candidates[0].even[0])  # no header yet: nothing to judge by


def test_exact_ratios_have_their_closed_form(washer: Make) -> None:
    wish = PitchWish(low_mm=0.45 * PITCH, high_mm=2.05 * PITCH)
    (advice,) = advise_pitch(washer(), wish=wish)
    found = {(e.lines, e.pitches): e.worst_mm for e in advice.sizes[0].exact}
    assert found[1, 1] == pytest.approx(0.0)
    assert found[1, 2] == pytest.approx(0.0)
    assert found[2, 1] == pytest.approx(PITCH / 2)  # every second lane half a pitch off
    assert found[3, 2] == pytest.approx(PITCH / 2)  # a (u - 1)/(2 v) with u = 3, v = 2
    lines = advice.sizes[0].lines_mm
    assert brute_worst(lines, 1.5 * PITCH) == pytest.approx(PITCH / 2, abs=0.05)


def test_no_pitch_of_the_range_beats_the_best_for_two_sizes(swing: Scenario) -> None:
    (advice,) = advise_pitch(swing)
    grid = np.linspace(advice.low_mm, advice.high_mm, 150)
    brute = [max(brute_worst(s.lines_mm, p) for s in advice.sizes) for p in grid]
    assert advice.best.worst_mm <= min(brute) + 0.04  # the phases are 0.04 mm apart
    here = max(brute_worst(s.lines_mm, advice.best.pitch_mm) for s in advice.sizes)
    assert here == pytest.approx(advice.best.worst_mm, abs=0.04)
    low, high = advice.best.band_mm
    inside = advice.curve(np.linspace(low, high, 50)).max()
    assert inside <= advice.best.worst_mm + advice.allowance_mm + 1e-5


def test_weights_pull_the_pitch_to_the_size_that_matters(swing: Scenario) -> None:
    wish = PitchWish(low_mm=49.0, high_mm=60.0, weights={"sleek body": 50.0})
    (advice,) = advise_pitch(swing, wish=wish)
    assert advice.best.pitch_mm == pytest.approx(advice.sizes[1].line_pitch_mm, abs=0.05)
    wish = PitchWish(low_mm=49.0, high_mm=60.0, weights={"211 body": 50.0})
    (advice,) = advise_pitch(swing, wish=wish)
    assert advice.best.pitch_mm == pytest.approx(advice.sizes[0].line_pitch_mm, abs=0.05)


def test_candidates_say_what_their_drilled_row_does(swing: Scenario) -> None:
    (advice,) = advise_pitch(swing)
    kinds = [one.what for one in advice.candidates]
    assert kinds[0] == "best"
    assert kinds.count("own") == 2
    assert kinds[-1] == "today"
    counts = [one.count for one in advice.candidates if one.what in ("best", "longer")]
    assert counts == sorted(set(counts), reverse=True)  # each longer pitch saves nozzles
    for one in advice.candidates:
        for size, worst in zip(advice.sizes, one.worst_mm, strict=True):
            assert worst == pytest.approx(brute_worst(size.lines_mm, one.pitch_mm), abs=0.04)


def test_the_drilled_row_holds_what_is_promised(swing: Scenario) -> None:
    wish = PitchWish(pitch_mm=57.2, tolerance_mm=0.4, beyond=2)
    (advice,) = advise_pitch(swing, wish=wish)
    row = advice.drilling
    np.testing.assert_allclose(np.diff(row.positions_mm), 57.2)
    plain = advise_pitch(swing, wish=replace(wish, beyond=0))[0].drilling
    assert len(row.positions_mm) == len(plain.positions_mm) + 4
    for size, shift, worst, most in zip(
        advice.sizes, row.shifts_mm, row.worst_mm, row.worst_with_tolerance_mm, strict=True
    ):
        moved = size.lines_mm + shift
        assert misalignment(moved, row.positions_mm).worst_mm == pytest.approx(worst)
        assert most == pytest.approx(worst + 0.4)
    assert "asked" in [one.what for one in advice.candidates]


def test_nozzles_beyond_the_lanes_wash_the_edge_lanes_evenly(swing: Scenario) -> None:
    plain = advise_pitch(swing, sizes=["211 body"])[0].candidates[0]
    longer = advise_pitch(swing, sizes=["211 body"], wish=PitchWish(beyond=3))[0].candidates[0]
    assert longer.count == plain.count + 6
    assert longer.even[0] > plain.even[0]
    assert longer.even[0] == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("side", ["above", "below"])
def test_evenness_is_that_of_the_dose(
    side: str, header: Make, washer: Make, first_lane_mm: Make
) -> None:
    case = washer(header(side, first_lane_mm() + 11.0, pitch_mm=61.0))
    stance = case.sizes[0].stance()
    lines = first_lane_mm() + PITCH * np.arange(10)
    headers = case.stages[0].headers
    got = dose(lines, np.full(10, 1.0 / DIAMETER), stance, headers, case.mat)
    want = christiansen(got.inside_mL if side == "below" else got.top_mL)
    assert least_evenness(lines, DIAMETER, 124.0, headers) == pytest.approx(want)
    half = replace(headers[0], pressure_MPa=0.05, station_mm=900.0)
    assert least_evenness(lines, DIAMETER, 124.0, (*headers, half)) == pytest.approx(want)


def test_stages_with_the_same_lanes_share_their_advice(swing: Scenario) -> None:
    (advice,) = advise_pitch(swing)
    assert "drain" not in advice.stages
    assert len(advice.stages) == 7
    off = replace(swing.stages[0], guides=swing.stages[0].guides.set_to(1390.5, 790.0))
    parted = advise_pitch(swing.with_stages((off, *swing.stages[1:])))
    assert [len(one.stages) for one in parted] == [1, 6]
    assert parted[0].best.pitch_mm == pytest.approx(parted[1].best.pitch_mm, abs=1e-4)
    assert parted[0].drilling.positions_mm[0] == pytest.approx(
        parted[1].drilling.positions_mm[0] - 10.0, abs=1e-4
    )


def test_a_header_fits_the_lanes_a_change_sets(washer: Make, header: Make) -> None:
    # 4 mm too narrow for ten lanes: nine are judged, ten are the nearest that can be set
    case = washer(clear_width_mm=DIAMETER + 9 * PITCH - 4.0)
    (advice,) = advise_pitch(case)
    assert advice.sizes[0].lanes == recommend(case, case.set_for).lanes == 10
    assert advice.best.pitch_mm == pytest.approx(PITCH, abs=1e-6)
    drilled = header("above", advice.drilling.positions_mm[0])
    with_it = case.with_stages((replace(case.stages[0], headers=(drilled,)),))
    (after,) = plan_change(with_it, case.set_for, case.set_for).stages
    assert after.after.pack.lanes == 10
    assert after.after.alignment is not None
    assert after.after.alignment.now.worst_mm < 0.5  # half a setting step of the brackets


def test_crosswise_lanes_are_half_a_diameter_apart(washer: Make) -> None:
    case = washer()
    stage = replace(case.stages[0], layout="crosswise")
    (advice,) = advise_pitch(case.with_stages((stage,)))
    assert advice.sizes[0].line_pitch_mm == pytest.approx(DIAMETER / 2)
    assert advice.best.pitch_mm == pytest.approx(DIAMETER / 2, abs=1e-6)


def test_what_cannot_be_asked_is_refused(swing: Scenario, washer: Make) -> None:
    with pytest.raises(InputError, match="highest: got 50"):
        advise_pitch(swing, wish=PitchWish(low_mm=60.0, high_mm=50.0))
    with pytest.raises(InputError, match="from"):
        advise_pitch(swing, wish=PitchWish(low_mm=0.001))
    with pytest.raises(InputError, match="drill"):
        advise_pitch(swing, wish=PitchWish(pitch_mm=0.1))
    with pytest.raises(InputError, match="weight"):
        advise_pitch(swing, wish=PitchWish(weights={"nope": 2.0}))
    with pytest.raises(InputError, match="weights"):
        advise_pitch(swing, wish=PitchWish(weights={"211 body": -2.0}))
    with pytest.raises(InputError, match="beyond"):
        PitchWish(beyond=-1)
    with pytest.raises(InputError, match="tolerance"):
        PitchWish(tolerance_mm=-0.1)
    big = replace(washer(), sizes=(custom_can("wide", 1900.0, 2500.0),), set_for="wide")
    with pytest.raises(InputError, match="fits"):
        advise_pitch(big)
