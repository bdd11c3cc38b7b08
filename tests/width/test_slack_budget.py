"""The slack budget against sums done by hand and packs built can by can."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Bracket, Guides, Kicks, Stage, Wires
from packsim.pack.lattice import can_tolerance_mm
from packsim.width.guide_wires import wire_span
from packsim.width.slack_budget import SlackTerm, slack_budget

CAN = Can("made up", 66.0, 124.0, 0.0102, 74.0, 10.0, 23.0, diameter_tol_mm=0.2)
WIRES = Wires((40.0, 80.0, 110.0), 500.0, 0.0565, 1.36e6)
ROOT3 = math.sqrt(3.0)


def stage(*widths, temperature_C=20.0, push=0.0, layout="lengthwise", **more):
    brackets = tuple(Bracket(1500.0 * i, 100.0, 100.0 + w) for i, w in enumerate(widths))
    return Stage(
        "bay",
        "flood",
        1500.0 * max(1, len(widths) - 1),
        Guides(brackets, WIRES, **more),
        Kicks(1.0, 1.0),
        temperature_C=temperature_C,
        layout=layout,
        pack_pressure_N_per_m=push,
    )


def width(lanes):
    return 66.0 * (1.0 + (lanes - 1) * ROOT3 / 2.0)


@pytest.mark.parametrize("lanes", [1, 2, 3, 20])
def test_tolerance_lengthwise_against_a_zigzag_of_random_cans(lanes):
    """Cans of differing size chained in touch, each line square-edge to the next at 60 degrees."""
    rng = np.random.default_rng(7)
    sigma = 0.05
    d = 66.0 + sigma * rng.standard_normal((200_000, lanes))
    centres = (d[:, 1:] + d[:, :-1]) / 2.0 * ROOT3 / 2.0
    across = d[:, 0] / 2.0 + d[:, -1] / 2.0 + centres.sum(axis=1)
    worst, rss = can_tolerance_mm(sigma, 66.0, width(lanes), "lengthwise")
    assert across.std() == pytest.approx(rss, rel=0.01)  # 200 000 rows: 0.16 % a sigma
    assert worst == pytest.approx(sigma * (1.0 + (lanes - 1) * ROOT3 / 2.0))
    assert across.mean() == pytest.approx(width(lanes), abs=1e-2)


@pytest.mark.parametrize(("widths", "factor"), [(20.0, 20.0), (20.5, 20.25), (1.0, 1.0)])
def test_tolerance_crosswise(widths, factor):
    worst, rss = can_tolerance_mm(0.2, 66.0, 66.0 * widths, "crosswise")
    assert worst == pytest.approx(0.2 * widths)
    assert rss == pytest.approx(0.2 * math.sqrt(factor))


def test_every_term_by_hand():
    bay = stage(1160.0, 1162.0, temperature_C=60.0, push=40.0, wear_mm=0.5, setting_step_mm=2.0)
    budget = slack_budget(bay, CAN, width(20))
    bow = wire_span(
        WIRES, 1500.0, warming_K=40.0, frame_expansion_per_K=1.6e-5, pack_pressure_N_per_m=40.0
    ).bow_mm
    by_hand = {
        "can tolerance": (-0.2 * width(20) / 66.0, 0.2 * width(20) / 66.0),
        "growth of cans": (-2.394e-5 * 40.0 * width(20),) * 2,
        "growth of frame": (1.6e-5 * 40.0 * 1160.0,) * 2,
        "bow at mid-span": (0.0, 2.0 * bow),
        "bracket difference": (0.0, 2.0),
        "setting step": (-2.0, 2.0),
        "wear": (0.0, 1.0),
    }
    assert {t.name: (t.tightest_mm, t.loosest_mm) for t in budget.terms} == {
        name: pytest.approx(pair) for name, pair in by_hand.items()
    }
    assert budget.slack_mm == pytest.approx(1160.0 - width(20))
    tight = budget.slack_mm + sum(pair[0] for pair in by_hand.values())
    loose = budget.slack_mm + sum(pair[1] for pair in by_hand.values())
    assert (budget.tightest_mm, budget.loosest_mm) == pytest.approx((tight, loose))
    _, rss = can_tolerance_mm(0.2, 66.0, width(20), "lengthwise")
    spread = math.hypot(rss, math.sqrt(2.0))  # two sides, ±1 mm each
    fixed = [
        pair for name, pair in by_hand.items() if name not in ("can tolerance", "setting step")
    ]
    assert budget.tightest_rss_mm == pytest.approx(
        budget.slack_mm + sum(p[0] for p in fixed) - spread
    )
    assert budget.loosest_rss_mm == pytest.approx(
        budget.slack_mm + sum(p[1] for p in fixed) + spread
    )


def test_growth_as_published(published):
    """A 304 frame 1000 mm wide, warmed 45 K."""
    row = published["M09"]
    bay = stage(1000.0, temperature_C=65.0, frame_expansion_per_K=row.inputs["alpha"])
    term = slack_budget(bay, CAN, width(17)).term("growth of frame")
    assert row.agrees(term.loosest_mm)


def test_slack_hot_wire_counts_by_its_give():
    bay = stage(1160.0, 1160.0, temperature_C=250.0, frame_expansion_per_K=1.0e-5)
    term = slack_budget(bay, CAN, width(20)).term("bow at mid-span")
    assert term.loosest_mm > 10.0
    assert "take-up" in term.why


def test_brackets_of_a_funnel_differ_on_purpose():
    bays = stage(1160.0, 1170.0), stage(1170.0, 1160.0, shape="funnel")
    straight, funnel = (
        slack_budget(one, CAN, width(17)).term("bracket difference") for one in bays
    )
    assert "from 1160 to 1170 mm" in straight.why
    assert straight.remedy
    assert "on purpose" in funnel.why
    assert not funnel.remedy


def test_single_bracket_has_no_bow():
    assert (
        slack_budget(stage(1160.0, push=50.0), CAN, width(20)).term("bow at mid-span").range_mm == 0
    )


@given(st.floats(0.0, 1.0), st.floats(0.0, 200.0), st.floats(0.0, 3.0))
def test_rss_lies_within_worst_case(tol, push, wear):
    bay = stage(1160.0, 1161.0, push=push, wear_mm=wear)
    budget = slack_budget(bay, replace(CAN, diameter_tol_mm=tol), width(20))
    assert budget.tightest_mm <= budget.tightest_rss_mm <= budget.loosest_rss_mm
    assert budget.loosest_rss_mm <= budget.loosest_mm


def test_without_takes_one_term_out():
    budget = slack_budget(stage(1160.0, 1163.0), CAN, width(20))
    assert budget.loosest_mm - budget.without("bracket difference").loosest_mm == pytest.approx(3.0)
    with pytest.raises(InputError, match="bracket difference"):
        budget.without("gremlins")


def test_bad_values_are_refused():
    with pytest.raises(InputError, match="at least one can"):
        slack_budget(stage(1160.0), CAN, 60.0)
    with pytest.raises(InputError, match="loosest_mm"):
        SlackTerm("a", 1.0, 0.0, "fixed", "")
    with pytest.raises(InputError, match="0 for a fixed term"):
        SlackTerm("a", 0.0, 1.0, "fixed", "", spread_mm=1.0)
    with pytest.raises(InputError, match="worst, rss"):
        slack_budget(stage(1160.0), CAN, width(20)).case_mm("best")


def test_a_step_at_the_brackets_takes_twice_its_height_and_is_no_term_without_one():
    plain = slack_budget(stage(width(4) + 5.0), CAN, width(4))
    stepped = slack_budget(stage(width(4) + 5.0, step_mm=0.6), CAN, width(4))
    assert [t.name for t in stepped.terms] == [*(t.name for t in plain.terms), "step at brackets"]
    assert stepped.tightest_mm == pytest.approx(plain.tightest_mm - 1.2)
    assert stepped.loosest_mm == pytest.approx(plain.loosest_mm)


@pytest.mark.parametrize("kind", ["fixed", "tolerance"])
def test_a_term_adds_its_ends_or_the_middle_of_its_tolerance(kind):
    term = SlackTerm("heat", -1.0, 4.0, kind, "why")
    assert term.range_mm == 5.0
    assert term.edges_mm("worst") == (-1.0, 4.0)
    assert term.edges_mm("rss") == ((-1.0, 4.0) if kind == "fixed" else (1.5, 1.5))
