"""A width in the window is recomputed from the guides set there; outside it fails."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Bracket, Guides, Kicks, Stage, Wires
from packsim.width.guide_window import guide_window
from packsim.width.slack_budget import slack_budget

CAN = Can("made up", 66.0, 124.0, 0.0102, 74.0, 10.0, 23.0, diameter_tol_mm=0.1)
WIRES = Wires((40.0, 80.0, 110.0), 500.0, 0.0565, 1.36e6)
PACK_MM = 66.0 * (1.0 + 19.0 * math.sqrt(3.0) / 2.0)
METHODS = st.sampled_from(["worst", "rss"])


def bay(width_mm=1160.0, push=0.0, warm=20.0, step=0.0, wear=0.0, second=0.0):
    guides = Guides(
        (Bracket(0.0, 0.0, width_mm), Bracket(1500.0, 0.0, width_mm + second)),
        WIRES,
        setting_step_mm=step,
        wear_mm=wear,
    )
    return Stage(
        "bay", "rinse", 1500.0, guides, Kicks(1.0, 1.0), temperature_C=warm,
        pack_pressure_N_per_m=push,
    )  # fmt: skip


def budget_of(stage, can=CAN, **more):
    return slack_budget(stage, can, PACK_MM, **more)


def test_bare_window_is_pack_width_plus_allowed_slack():
    budget = budget_of(bay(), replace(CAN, diameter_tol_mm=0.0))
    window = guide_window(budget, 30.0, 2.0)
    assert window.low_mm == pytest.approx(PACK_MM)
    assert window.high_mm == pytest.approx(PACK_MM + 15.0)
    assert window.high_by == "safe slack"
    assert not window.empty
    assert [window.verdict(w) for w in (PACK_MM - 1.0, PACK_MM + 1.0, PACK_MM + 16.0)] == [
        "too tight",
        "inside",
        "too loose",
    ]


@given(
    METHODS,
    st.floats(0.0, 1.0),
    st.floats(20.0, 60.0),
    st.floats(0.0, 40.0),
    st.floats(-60.0, 200.0),
)
def test_widths_inside_satisfy_both_conditions(method, share, safe, push, warming):
    stage = bay(push=push, warm=20.0 + warming, step=0.5, wear=0.2)
    window = guide_window(budget_of(stage), safe, 1.0, method=method)
    assume(not window.empty)
    width = window.low_mm + share * window.width_mm
    tight, loose = budget_of(stage.with_clear_width(width)).case_mm(method)
    assert tight >= -1e-9
    assert loose <= min(safe, 66.0 * math.sqrt(3.0) / 2.0) + 1e-9
    for outside, side in ((window.low_mm - 0.01, 0), (window.high_mm + 0.01, 1)):
        cases = budget_of(stage.with_clear_width(outside)).case_mm(method)
        assert (cases[0] < 0.0) if side == 0 else (cases[1] > window.allowed_mm)


@given(METHODS, st.floats(0.0, 80.0), st.floats(0.0, 30.0), st.floats(1.0, 4.0))
def test_more_safe_slack_never_narrows_a_window(method, safe, more, factor):
    budget = budget_of(bay(push=20.0))
    a, b = (guide_window(budget, s, factor, method=method) for s in (safe, safe + more))
    assert a.low_mm == b.low_mm
    assert b.high_mm >= a.high_mm
    assert guide_window(budget, safe, factor + 1.0, method=method).high_mm <= a.high_mm


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0))
def test_more_push_never_widens_a_window(push, more):
    a, b = (guide_window(budget_of(bay(push=q)), 40.0) for q in (push, push + more))
    assert b.high_mm <= a.high_mm + 1e-9
    assert b.low_mm == a.low_mm


@given(st.floats(10.0, 80.0), st.floats(0.0, 80.0))
def test_root_sum_square_is_wider_than_worst_case(safe, push):
    budget = budget_of(bay(push=push, step=1.0))
    worst, rss = (guide_window(budget, safe, method=m) for m in ("worst", "rss"))
    assert rss.low_mm <= worst.low_mm
    assert rss.high_mm >= worst.high_mm


@given(METHODS, st.floats(0.0, 12.0), st.floats(10.0, 120.0), st.floats(0.0, 3.0))
def test_curing_what_an_empty_window_names_opens_it(method, safe, push, second):
    budget = budget_of(bay(push=push, step=1.0, wear=0.4, second=second))
    window = guide_window(budget, safe, method=method)
    assume(window.empty)
    assert window.empty_because
    for part in window.attack:
        assert 0.0 < part.take_mm <= part.now_mm
        assert part.term in part.advice
        budget = budget.without(part.term)
    cured = guide_window(budget, safe, method=method)
    assert cured.empty == ("stay missing" in window.empty_because)
    if not cured.empty:
        assert window.width_mm + sum(p.take_mm for p in window.attack) == pytest.approx(0.0)


def test_empty_window_names_the_bow_and_how_much_of_it():
    budget = budget_of(bay(push=60.0, second=1.0))
    window = guide_window(budget, 30.0, 2.0)
    assert window.empty
    assert window.attack[0].term == "bow at mid-span"
    assert "add a bracket or raise the wire tension" in window.attack[0].advice
    bow = budget.term("bow at mid-span").loosest_mm
    keep = 1.0 - window.attack[0].take_mm / bow
    assert f"tension ×{1.0 / keep:.2f}" in window.attack[0].advice
    # taking exactly that much off the bow just opens the window
    terms = tuple(
        replace(t, loosest_mm=t.loosest_mm - window.attack[0].take_mm)
        if t.name == "bow at mid-span"
        else t
        for t in budget.terms
    )
    assert guide_window(replace(budget, terms=terms), 30.0, 2.0).width_mm == pytest.approx(
        0.0, abs=0.02
    )


def test_hopeless_window_says_that_slack_is_missing():
    window = guide_window(budget_of(bay(step=1.0)), 1.0, 2.0)
    assert window.empty
    assert "stay missing with every remedy" in window.empty_because
    assert window.verdict((window.low_mm + window.high_mm) / 2.0) == "too tight and too loose"


def test_a_pack_that_cannot_tip_is_limited_by_the_next_lane():
    for layout, share in (("lengthwise", math.sqrt(3.0) / 2.0), ("crosswise", 0.5)):
        stage = replace(bay(), layout=layout)
        budget = slack_budget(stage, replace(CAN, diameter_tol_mm=0.0), 20.0 * 66.0)
        window = guide_window(budget, math.inf)
        assert window.high_by == "next lane"
        assert window.width_mm == pytest.approx(66.0 * share)


def test_bad_values_are_refused():
    budget = budget_of(bay())
    for bad in ({"safe_slack_mm": -1.0}, {"safe_slack_mm": math.nan}):
        with pytest.raises(InputError):
            guide_window(budget, **bad)
    with pytest.raises(InputError, match="at least 1"):
        guide_window(budget, 10.0, 0.5)
    with pytest.raises(InputError, match="worst, rss"):
        guide_window(budget, 10.0, method="hope")


def test_both_ends_of_a_window_are_inside():
    window = guide_window(budget_of(bay(), replace(CAN, diameter_tol_mm=0.0)), 30.0, 2.0)
    assert [window.verdict(end) for end in window.ends_mm] == ["inside", "inside"]
    assert window.holds(window.high_mm)
    assert not window.holds(window.high_mm + 1e-6)
    assert not window.holds(window.low_mm - 1e-6)


def test_an_empty_window_says_what_limits_it():
    budget = budget_of(bay(step=9.0))
    assert "(safe slack over 2)" in guide_window(budget, 20.0, 2.0).empty_because
    wide = guide_window(budget_of(bay(step=40.0)), 900.0, 1.0)
    assert wide.empty
    assert "(room for a lane more)" in wide.empty_because
