"""What passes leave behind, against the overlap summed along travel by other means."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, trapezoid

from packsim.spray.catch import caught, lens
from packsim.spray.dose import across_density_per_mm, band_mm
from packsim.spray.jets import Footprint

R = 33.0
DISC = Footprint("disc", 58.0, 58.0, 0.0, 100.0)
ELLIPSE = Footprint("ellipse", 80.0, 9.0, 0.3, 100.0)
STRAIGHT = Footprint("ellipse", 80.0, 9.0, 0.0, 100.0)
ALL = [DISC, ELLIPSE, STRAIGHT]


@pytest.mark.parametrize("patch", ALL)
def test_all_of_the_flow_is_somewhere_across(patch: Footprint) -> None:
    reach = patch.half_across_mm
    total = quad(
        lambda y: float(across_density_per_mm(patch, y)), -reach, reach, limit=400, epsabs=1e-9
    )[0]
    assert total == pytest.approx(1.0, abs=1e-6)
    assert across_density_per_mm(patch, [reach + 1e-3, -reach - 1e-3]).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("line", [0.0, 12.5, 25.0, 40.0, 57.9, 80.0, 90.999, 92.0])
def test_cone_against_the_lens_summed_along_travel(line: float) -> None:
    """The band is ∫ (lens area / footprint area) dx, by scipy on the exact lens."""
    reach = math.sqrt(max(0.0, (58.0 + R) ** 2 - line**2))
    area = math.pi * 58.0**2
    want = quad(
        lambda x: float(lens(58.0, R, math.hypot(x, line))[0]) / area,
        *(-reach, reach),
        points=[0.0],
        epsabs=1e-10,
        limit=200,
    )[0]
    assert float(band_mm(DISC, line, R)) == pytest.approx(want, abs=2e-7)


@pytest.mark.parametrize("patch", [ELLIPSE, STRAIGHT])
@pytest.mark.parametrize("line", [0.0, 20.0, 60.0])
def test_other_sprays_against_what_is_caught_along_travel(patch: Footprint, line: float) -> None:
    reach = patch.half_along_mm + R
    x = np.linspace(-reach, reach, 4001)
    want = trapezoid(caught(patch, x, line, R).share, x)
    assert float(band_mm(patch, line, R)) == pytest.approx(want, abs=3e-3)


@pytest.mark.parametrize("patch", ALL)
@pytest.mark.parametrize("line", [0.0, 33.0, 70.0])
def test_band_against_scipy(patch: Footprint, line: float) -> None:
    edge = np.array([-patch.half_across_mm, patch.half_across_mm]) - line
    cuts = [float(c) for c in edge if -R < c < R]
    want = quad(
        lambda u: 2 * math.sqrt(R**2 - u**2) * float(across_density_per_mm(patch, line + u)),
        *(-R, R),
        points=cuts or None,
        limit=400,
    )[0]
    assert float(band_mm(patch, line, R)) == pytest.approx(want, rel=1e-6, abs=1e-7)


def test_equal_circles_in_line_are_a_half_circle_squared() -> None:
    """Equal radii on one line: ∫ 4(R² − u²) du / (πR²) = 16R/(3π), by hand."""
    even = Footprint("disc", R, R, 0.0, 100.0)
    assert float(band_mm(even, 0.0, R)) == pytest.approx(16 * R / (3 * math.pi), rel=1e-12)


@given(st.floats(5.0, 200.0), st.floats(0.5, 30.0), st.floats(-1.5, 1.5), st.floats(-120.0, 120.0))
def test_mirror_scale_and_bounds(long: float, thin: float, twist: float, line: float) -> None:
    here = Footprint("ellipse", long, thin, twist, 100.0)
    there = Footprint("ellipse", long, thin, -twist, 100.0)
    big = Footprint("ellipse", 2 * long, 2 * thin, twist, 100.0)
    got = float(band_mm(here, line, R))
    assert got == pytest.approx(float(band_mm(there, -line, R)), abs=1e-6)
    assert got == pytest.approx(float(band_mm(big, 2 * line, 2 * R)) / 2, rel=1e-6, abs=1e-6)
    assert 0.0 <= got <= 2 * R * (1 + 1e-6)


def test_all_lines_together_catch_all_of_the_flow() -> None:
    """Summed over a fine row of lines the band gives the disc's area: nothing is lost."""
    lines = np.arange(-130.0, 130.0, 0.5)
    for patch in ALL:
        assert np.sum(band_mm(patch, lines, R)) * 0.5 == pytest.approx(math.pi * R**2, rel=1e-4)
