"""The overlap of two circles, against published values, mpmath and shapely."""

from __future__ import annotations

import math
from typing import Any

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point

from packsim.errors import InputError
from packsim.spray.catch import lens

sizes = st.floats(0.1, 50.0)


def by_integral(r: float, s: float, d: float) -> tuple[float, float]:
    """Area and first moment by 30-digit quadrature of the common chord."""
    with mpmath.workdps(30):
        r_, s_, d_ = mpmath.mpf(r), mpmath.mpf(s), mpmath.mpf(d)
        low, high = max(-r_, d_ - s_), min(r_, d_ + s_)
        if high <= low:
            return 0.0, 0.0
        cuts = [low, high]
        if d_ > 0 and low < (d_**2 + r_**2 - s_**2) / (2 * d_) < high:
            cuts.insert(1, (d_**2 + r_**2 - s_**2) / (2 * d_))

        def chord(x: mpmath.mpf) -> mpmath.mpf:
            inside = min(r_**2 - x**2, s_**2 - (x - d_) ** 2)
            return 2 * mpmath.sqrt(max(inside, mpmath.mpf(0)))

        return (
            float(mpmath.quad(chord, cuts)),
            float(mpmath.quad(lambda x: x * chord(x), cuts)),
        )


def test_published_overlap_of_unit_circles(published: Any) -> None:
    assert published["J18"].agrees(float(lens(1.0, 1.0, 1.0)[0]))


def test_published_half_overlap(published: Any) -> None:
    """Row J19: the value is from memory."""
    row = published["J19"]
    near, far = (float(lens(1.0, 1.0, row.value + by)[0]) for by in (-1e-6, 1e-6))
    assert far < math.pi / 2 < near


CASES = [
    *[(1.0, 1.0, 1.0), (3.0, 1.0, 2.5), (1.0, 3.0, 2.5), (30.0, 33.0, 50.0), (5.0, 1.0, 4.0001)],
    *[(5.0, 1.0, 5.9999), (2.0, 5.0, 1.0), (5.0, 2.0, 1.0), (1.0, 1.0, 3.0), (4.0, 4.0, 0.0)],
]


@pytest.mark.parametrize(("r", "s", "d"), CASES)
def test_area_and_centroid_against_thirty_digits(r: float, s: float, d: float) -> None:
    got = lens(r, s, d)
    area, moment = by_integral(r, s, d)
    assert float(got[0]) == pytest.approx(area, rel=1e-9, abs=1e-12)
    assert float(got[1]) == pytest.approx(moment, rel=1e-9, abs=1e-12)


def test_polygons_agree_as_they_get_finer() -> None:
    errors = []
    for segments in (32, 64, 128):
        first = Point(0.0, 0.0).buffer(30.0, segments)
        shape = first.intersection(Point(41.0, 0.0).buffer(33.0, segments))
        got = lens(30.0, 33.0, 41.0)
        errors.append(abs(shape.area - float(got[0])))
        assert shape.centroid.x == pytest.approx(float(got[1] / got[0]), abs=0.02)
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.2)  # inscribed polygons: order two
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.2)


def test_every_case_in_one_call() -> None:
    got = lens([1.0, 1.0, 3.0, 1.0, 1.0, 0.0], [1.0, 1.0, 1.0, 3.0, 1.0, 2.0], [2, 9, 1, 1, 0, 1])
    assert got[0] == pytest.approx([0, 0, math.pi, math.pi, math.pi, 0])
    assert got[1] == pytest.approx([0, 0, math.pi, 0, 0, 0])


@given(sizes, sizes, st.floats(0.0, 120.0), st.floats(0.1, 10.0))
def test_swap_scale_and_bounds(r: float, s: float, d: float, factor: float) -> None:
    here, there = lens(r, s, d), lens(s, r, d)
    area = float(here[0])
    assert area == pytest.approx(float(there[0]), abs=1e-9)
    # seen from the other centre the centroid is the rest of the way
    both = float(here[1] + there[1])
    assert both == pytest.approx(d * area, abs=1e-7)
    assert 0.0 <= area <= math.pi * min(r, s) ** 2 * (1 + 1e-12)
    scaled = lens(factor * r, factor * s, factor * d)
    assert float(scaled[0]) == pytest.approx(factor**2 * area, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("bad", [(-1.0, 1.0, 1.0), (1.0, -1.0, 1.0), (1.0, 1.0, math.nan)])
def test_bad_values_are_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(InputError):
        lens(*bad)
