"""Guide wires between brackets: cold, hot, slack, pushed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from packsim.constants import GRAVITY_M_PER_S2
from packsim.line import Bracket, Guides, Wires
from packsim.width.guide_faces import faces_with_bow
from packsim.width.guide_wires import slackest_span, wire_span, wire_spans

WIRES = Wires((40.0, 90.0), 500.0, 0.0565, 1.36e6, expansion_per_K=1.7e-5)  # 3 mm stainless
SPAN_MM = 1500.0


def test_take_up_keeps_the_plain_formulas():
    wires = replace(WIRES, anchored=False)
    span = wire_span(
        wires, SPAN_MM, warming_K=100.0, frame_expansion_per_K=1.2e-5, pack_pressure_N_per_m=10.0
    )
    assert span.tension_N == span.hot_tension_N == 500.0
    assert span.bow_mm == pytest.approx(0.005 * SPAN_MM**2 / (8 * 500.0))  # q/2 a wire
    assert span.sag_mm == pytest.approx(0.0565 * GRAVITY_M_PER_S2 * 1e-3 * SPAN_MM**2 / (8 * 500.0))
    assert span.takeup_mm == pytest.approx(5e-6 * 100.0 * SPAN_MM)
    assert not span.slack


def test_free_wire_on_a_stiff_frame_grows_as_published(published):
    row = published["M09"]
    wires = Wires((40.0,), 500.0, 0.05, 1e6, expansion_per_K=row.inputs["alpha"], anchored=False)
    span = wire_span(wires, float(row.inputs["L_mm"]), warming_K=float(row.inputs["dT"]))
    assert row.agrees(span.takeup_mm)


def test_heat_takes_tension_off_an_anchored_wire():
    wires = replace(WIRES, mass_kg_per_m=0.0)
    span = wire_span(wires, SPAN_MM, warming_K=40.0, frame_expansion_per_K=1.2e-5)
    assert span.hot_tension_N == pytest.approx(500.0 - 1.36e6 * 5e-6 * 40.0)
    assert span.tension_N == pytest.approx(span.hot_tension_N)
    assert not span.slack


def exact_tension_N(warming_K, frame, load_N_per_m, weight_N_per_m):
    """Elastic wire of fixed rest length between rigid ends, exact parabola arc, by root finding."""

    def arc(tension, load):
        k = load * 1e-3 * SPAN_MM / tension  # slope change over the span
        return quad(lambda u: math.hypot(1.0, k * u), -0.5, 0.5, epsabs=1e-14)[0]

    rest = arc(500.0, weight_N_per_m) / (1.0 + 500.0 / 1.36e6)
    hot = rest * (1.0 + (1.7e-5 - frame) * warming_K)
    return brentq(
        lambda t: hot * (1.0 + t / 1.36e6) - arc(t, load_N_per_m), 1.0, 5000.0, xtol=1e-10
    )


@pytest.mark.parametrize("push", [0.0, 20.0, 120.0])
@pytest.mark.parametrize("warming", [0.0, 30.0, 90.0])
def test_anchored_wire_against_exact_elastic_wire(warming, push):
    weight = 0.0565 * GRAVITY_M_PER_S2
    span = wire_span(
        WIRES,
        SPAN_MM,
        warming_K=warming,
        frame_expansion_per_K=1.2e-5,
        pack_pressure_N_per_m=push,
    )
    load = math.hypot(weight, push / 2.0)
    exact = exact_tension_N(warming, 1.2e-5, load, weight)
    assert span.tension_N == pytest.approx(exact, rel=2e-3)  # linearised strain and arc


def test_slack_wire_is_an_answer_with_a_reason():
    wires = replace(WIRES, mass_kg_per_m=0.0)
    span = wire_span(wires, SPAN_MM, warming_K=150.0, frame_expansion_per_K=1.2e-5)
    assert span.slack
    assert "take-up" in span.reason
    assert span.hot_tension_N == span.tension_N == 0.0
    excess = (5e-6 * 150.0 * 1.36e6 - 500.0) / 1.36e6
    assert excess == pytest.approx(8.0 / 3.0 * (span.give_mm / SPAN_MM) ** 2)
    # a whisper of a push finds that same give, less nothing
    pushed = wire_span(
        wires,
        SPAN_MM,
        warming_K=150.0,
        frame_expansion_per_K=1.2e-5,
        pack_pressure_N_per_m=1e-6,
    )
    assert pushed.bow_mm == pytest.approx(span.give_mm, rel=1e-4)


def test_sagging_slack_wire_can_swing_out():
    span = wire_span(WIRES, SPAN_MM, warming_K=150.0, frame_expansion_per_K=1.2e-5)
    assert span.slack
    assert span.bow_mm == 0.0
    assert span.outward_mm == pytest.approx(span.sag_mm)
    assert span.drop_mm == span.sag_mm


def test_spans_of_no_length_do_not_move():
    span = wire_span(WIRES, 0.0, pack_pressure_N_per_m=50.0)
    assert (span.sag_mm, span.bow_mm, span.takeup_mm) == (0.0, 0.0, 0.0)


@given(st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.floats(0.0, 120.0))
def test_more_push_never_bows_less(push, more, warming):
    a, b = (
        wire_span(WIRES, SPAN_MM, warming_K=warming, pack_pressure_N_per_m=q)
        for q in (push, push + more)
    )
    assert b.bow_mm >= a.bow_mm - 1e-12
    assert b.tension_N >= a.tension_N * (1.0 - 1e-12)


@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_more_heat_never_tightens_a_wire_that_outgrows_its_frame(warming, more):
    a, b = (
        wire_span(WIRES, SPAN_MM, warming_K=k, pack_pressure_N_per_m=30.0)
        for k in (warming, warming + more)
    )
    assert b.hot_tension_N <= a.hot_tension_N
    assert b.bow_mm >= a.bow_mm * (1.0 - 1e-12)


@given(st.floats(0.2, 5.0))
def test_scaling(k):
    """Lengths by k, loads per length by 1/k, same forces: strains the same, deflections by k."""
    a = wire_span(WIRES, SPAN_MM, warming_K=20.0, pack_pressure_N_per_m=40.0)
    wires = replace(WIRES, mass_kg_per_m=WIRES.mass_kg_per_m / k)
    b = wire_span(wires, SPAN_MM * k, warming_K=20.0, pack_pressure_N_per_m=40.0 / k)
    assert b.tension_N == pytest.approx(a.tension_N, rel=1e-9)
    assert b.bow_mm == pytest.approx(k * a.bow_mm, rel=1e-9)


def guides(*places, **more):
    return Guides(tuple(Bracket(x, 100.0, 1100.0) for x in places), WIRES, **more)


def test_faces_bow_between_brackets_only_and_mirror():
    line = guides(200.0, 1200.0, 3000.0)
    at = np.linspace(0.0, 3400.0, 171)
    left, right = faces_with_bow(line, at, 60.0, 20.0)
    assert left + right == pytest.approx(np.full_like(at, 1200.0))
    out = right - 1100.0
    assert out[(at <= 200.0) | (at >= 3000.0)] == pytest.approx(0.0)
    short, long = wire_spans(line, 20.0, 60.0)
    assert out[at == 700.0] == pytest.approx(short.bow_mm)
    assert out[at == 2100.0] == pytest.approx(long.bow_mm)
    assert out.max() == pytest.approx(long.bow_mm)
    assert slackest_span(line, 20.0, 60.0) == long


def test_faces_without_push_or_with_one_bracket_are_straight():
    at = np.linspace(0.0, 3000.0, 7)
    for line, push in ((guides(0.0, 3000.0), 0.0), (guides(1500.0), 80.0)):
        left, right = faces_with_bow(line, at, push, 20.0)
        assert left == pytest.approx(100.0)
        assert right == pytest.approx(1100.0)
    assert slackest_span(guides(1500.0), 20.0) is None


def test_wires_are_as_set_at_the_temperature_they_were_set_at():
    guides = Guides(
        (Bracket(0.0, 0.0, 600.0), Bracket(SPAN_MM, 0.0, 600.0)), WIRES, setting_temperature_C=35.0
    )
    (as_set,) = wire_spans(guides, 35.0)
    assert as_set == wire_span(WIRES, SPAN_MM, frame_expansion_per_K=guides.frame_expansion_per_K)
    assert as_set.hot_tension_N == 500.0
    (hot,) = wire_spans(guides, 75.0)
    growth = WIRES.expansion_per_K - guides.frame_expansion_per_K
    assert hot.hot_tension_N == pytest.approx(500.0 - 1.36e6 * growth * 40.0)
