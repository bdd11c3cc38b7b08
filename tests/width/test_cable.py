"""One span of wire against published values, exact geometry and an independent root finder."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp
from scipy.optimize import brentq

from packsim.errors import InputError
from packsim.width.guide_faces import parabola_mm
from packsim.width.loaded_wire import parabola_sag_mm, stretched_tension_N
from tests.oracles.catenary import (
    Catenary,
    catenary_by_length,
    catenary_by_length_and_sag,
    catenary_by_tension,
)

FOOT_MM, LBF_PER_FT_N_PER_M = 304.8, 14.593902937206364


def test_even_load_sags_as_published(published):
    row = published["C03"]
    w, span, tension = (row.inputs[k] for k in ("w", "L", "H"))
    assert row.agrees(parabola_sag_mm(w, span * 1000.0, tension) / 1000.0)


@pytest.mark.parametrize("row", ["C07", "C08", "C09"])
def test_parabola_falls_short_of_the_catenary_as_published(published, row):
    ratio = published[row].inputs["sag_over_span"]
    c = brentq(lambda c: c * (math.cosh(0.5 / c) - 1.0) - ratio, 0.3, 100.0, xtol=1e-15)
    line = catenary_by_tension(1.0, 1000.0, c)  # 1 N/m: H = c mm x 1e-3 N/mm = c N with L = 1 m
    assert line.sag_mm == pytest.approx(1000.0 * ratio, rel=1e-9)
    short = 100.0 * (1.0 - parabola_sag_mm(1.0, 1000.0, c) / line.sag_mm)
    assert published[row].agrees(short)


def test_textbook_tramway(published):
    length, sag = 500.0 * FOOT_MM, 125.0 * FOOT_MM
    line = catenary_by_length_and_sag(2.8 * LBF_PER_FT_N_PER_M, length, sag)
    assert published["C10"].agrees(line.span_mm / FOOT_MM)
    assert line.greatest_N / 4.4482216152605 == pytest.approx(published["C11"].value, rel=1e-9)
    assert line.length_mm == pytest.approx(length, rel=1e-12)
    assert line.sag_mm == pytest.approx(sag, rel=1e-12)


@given(st.floats(1e-9, 20.0))
def test_catenary_by_length_against_fifty_digits(excess):
    span = 1000.0
    length = span * (1.0 + excess)
    got = catenary_by_length(1.0, span, length)
    with mpmath.workdps(50):
        ratio = mpmath.mpf(length) / span
        u = mpmath.findroot(
            lambda u: mpmath.sinh(u) / u - ratio, mpmath.mpf(span / (2.0 * got.parameter_mm))
        )
        exact = span / (2 * u)
    assert got.parameter_mm == pytest.approx(float(exact), rel=1e-9)


def test_catenary_solves_the_equation_of_a_hanging_chain():
    line = catenary_by_tension(3.0, 2000.0, 4.0)  # c = 1333 mm: far from a parabola
    c = line.parameter_mm
    x = np.linspace(-1000.0, 1000.0, 101)
    result = solve_bvp(
        lambda x, y: np.vstack([y[1], np.sqrt(1.0 + y[1] ** 2) / c]),
        lambda a, b: np.array([a[0], b[0]]),
        x,
        np.vstack([0.0003 * (x**2 - 1e6), 0.0006 * x]),
        tol=1e-9,
    )
    assert result.success
    assert -result.sol(0.0)[0] == pytest.approx(line.sag_mm, rel=1e-7)
    assert parabola_sag_mm(3.0, 2000.0, 4.0) < 0.98 * line.sag_mm


def test_tension_runs_from_horizontal_to_greatest():
    line = Catenary(1000.0, 800.0, 2.0)
    end = math.hypot(line.horizontal_N, 2.0e-3 * line.length_mm / 2.0)  # half the weight hangs
    assert line.greatest_N == pytest.approx(end, rel=1e-12)


def test_parabola_is_the_end_moment_curve():
    x = np.array([-5.0, 0.0, 250.0, 500.0, 1000.0, 1200.0])
    assert parabola_mm(x, 1000.0, 4.0) == pytest.approx([0.0, 0.0, 3.0, 4.0, 0.0, 0.0])


@given(st.floats(-5e3, 5e3), st.floats(1e-3, 1e9))
def test_stretched_tension_solves_its_cubic(free, constant):
    got = stretched_tension_N(free, constant)
    roots = np.roots([1.0, -free, 0.0, -constant])
    real = roots[(abs(roots.imag) < 1e-6 * abs(roots)) & (roots.real > 0.0)].real
    assert min(abs(real - got)) <= 1e-6 * got
    assert got >= max(0.0, free)


def test_no_load_no_stretch():
    assert stretched_tension_N(120.0, 0.0) == 120.0
    assert stretched_tension_N(-120.0, 0.0) == 0.0


def test_impossible_wires_are_refused():
    with pytest.raises(InputError, match="longer than its span"):
        catenary_by_length(1.0, 100.0, 100.0)
    with pytest.raises(InputError, match="half the length"):
        catenary_by_length_and_sag(1.0, 100.0, 50.0)
    with pytest.raises(InputError, match="less slack"):
        catenary_by_tension(1.0, 1000.0, 1e-6)
