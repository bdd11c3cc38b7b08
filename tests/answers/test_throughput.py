"""Cans per minute and dwell against hand calculations on the perfect pack."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.answers.stage_pack import CansFlow
from packsim.errors import InputError
from packsim.pack.state import Pack

SOME = st.floats(1e-3, 1e4)


def perfect_cans_per_m(diameter_mm: float, width_mm: float) -> float:
    """Hexagonal pack without edges: 2/(sqrt3 D^2) cans per area."""
    return 2.0 / (math.sqrt(3.0) * diameter_mm**2) * width_mm * 1000.0


def speed_for_rate(cans_per_m: float, cans_per_min: float) -> float:
    """Mat speed that brings a rate, from a mat with one can on each metre [mm/s]."""
    one = CansFlow(1.0, cans_per_min * 1000.0 / 60.0)
    return one.after_size_change(cans_per_m, "rate").speed_mm_per_s


@pytest.mark.parametrize(
    ("diameter_mm", "at_2000", "at_3000"),
    [(66.09, 5.0, 7.6), (58.0, 3.9, 5.8), (53.0, 3.2, 4.9), (84.3, 8.2, 12.3)],
)
def test_mat_speed_of_a_perfect_pack(diameter_mm: float, at_2000: float, at_3000: float) -> None:
    # worked by hand for a pack 1.5 m wide, m/min, printed to one decimal
    cans = perfect_cans_per_m(diameter_mm, 1500.0)
    assert speed_for_rate(cans, 2000.0) * 0.06 == pytest.approx(at_2000, abs=0.051)
    assert speed_for_rate(cans, 3000.0) * 0.06 == pytest.approx(at_3000, abs=0.051)


def test_one_metre_a_minute_brings_the_cans_of_one_metre() -> None:
    assert CansFlow(397.0, 1000.0 / 60.0).cans_per_min == pytest.approx(397.0, rel=1e-15)


def test_dwell_is_length_over_speed() -> None:
    assert CansFlow(1.0, 100.0).dwell_s(6000.0) == 60.0


@given(cans=SOME, rate=SOME)
def test_speed_for_rate_inverts_rate(cans: float, rate: float) -> None:
    assert CansFlow(cans, speed_for_rate(cans, rate)).cans_per_min == pytest.approx(rate, rel=1e-12)


@given(before=SOME, speed=SOME, after=SOME)
def test_a_size_change_keeps_what_it_says(before: float, speed: float, after: float) -> None:
    flow = CansFlow(before, speed)
    same_rate = flow.after_size_change(after, "rate")
    same_dwell = flow.after_size_change(after, "dwell")
    assert same_rate.cans_per_min == pytest.approx(flow.cans_per_min, rel=1e-12)
    assert same_rate.dwell_s(5000.0) / flow.dwell_s(5000.0) == pytest.approx(after / before)
    assert same_dwell.dwell_s(5000.0) == flow.dwell_s(5000.0)
    assert flow.after_size_change(before, "rate") == flow
    assert same_dwell.cans_per_min / flow.cans_per_min == pytest.approx(after / before)


def test_a_slimmer_can_needs_a_slower_mat() -> None:
    # same width, perfect packs: cans per metre go as 1/D^2, so the speed goes as D^2
    standard = CansFlow(perfect_cans_per_m(66.09, 1500.0), 100.0)
    slim = standard.after_size_change(perfect_cans_per_m(53.0, 1500.0), "rate")
    assert slim.speed_mm_per_s == pytest.approx(100.0 * (53.0 / 66.09) ** 2, rel=1e-12)


def pack(lanes: int) -> Pack:
    centres = np.array([[10.0, 33.0], [43.0, 90.0]]) if lanes else np.empty((0, 2))
    reason = "" if lanes else "narrower than one can"
    return Pack(centres, 66.0, 130.0, 66.0, "lengthwise", "slack", lanes, 123.0, reason=reason)


def test_flow_counts_the_cans_on_the_mat() -> None:
    flows = [CansFlow(pack(lanes).cans_per_metre, 110.0) for lanes in (0, 2)]
    assert flows[0].cans_per_min == 0.0
    assert flows[1].cans_per_min == pytest.approx(2.0 / 0.066 * 6.6, rel=1e-12)


def test_a_pack_that_does_not_fit_has_no_speed_for_a_rate() -> None:
    with pytest.raises(InputError, match="cans_per_m"):
        CansFlow(400.0, 100.0).after_size_change(0.0, "rate")


@pytest.mark.parametrize(
    "bad",
    [
        lambda: CansFlow(-1.0, 100.0),
        lambda: CansFlow(1.0, 0.0),
        lambda: CansFlow(math.nan, 100.0),
        lambda: CansFlow(1.0, 100.0).dwell_s(0.0),
        lambda: CansFlow(1.0, math.inf),
        lambda: CansFlow(1.0, 1.0).after_size_change(1.0, "speed"),
    ],
)
def test_impossible_values_are_refused(bad: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        bad()
