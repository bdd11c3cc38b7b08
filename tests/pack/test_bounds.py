from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.pack.state import pack_between
from tests.oracles.bounds import (
    groemer_hull_mm2,
    most_cans_per_metre,
    oler_count,
    strip_cans_per_metre,
)

ROOT3 = math.sqrt(3.0)


@pytest.mark.parametrize("check", ["P13", "P14", "P16", "P18"])
def test_densest_strips(published, check: str) -> None:
    # formula from memory; P14 and P16 equal a separate numerical search
    width = 1.0 + published[check].inputs["w_d"]
    assert published[check].agrees(strip_cans_per_metre(width, 1.0) / 1000.0)


def test_triples_P09(published) -> None:
    width = published["P09"].inputs["strip_width_d"]
    assert published["P09"].agrees(2000.0 / strip_cans_per_metre(width, 1.0))


def test_hull_of_seven_cans_P07(published) -> None:
    known = published["P07"]
    got = groemer_hull_mm2(known.inputs["n"], known.inputs["p"], 2.0)
    assert known.agrees(got)
    turns = np.arange(6) * math.pi / 3
    around = 2 * np.column_stack((np.cos(turns), np.sin(turns)))
    hull = shapely.buffer(shapely.MultiPoint(around).convex_hull, 1.0, quad_segs=4096)
    assert got == pytest.approx(hull.area, abs=1e-5)
    assert known.inputs["p"] == pytest.approx(hull.length, abs=1e-5)


def test_points_in_a_hexagon_P08(published) -> None:
    known = published["P08"]  # from memory
    assert known.agrees(oler_count(known.inputs["A"], known.inputs["P"], 1.0))


@pytest.mark.parametrize("side", [1, 3, 10])
def test_both_bounds_are_exact_on_hexagons(side: int) -> None:
    count = 3 * side * (side + 1) + 1
    area, around = 1.5 * ROOT3 * side**2, 6.0 * side
    assert oler_count(area, around, 1.0) == pytest.approx(count)
    hull = area + around / 2 + math.pi / 4
    assert groemer_hull_mm2(count, around + math.pi, 1.0) == pytest.approx(hull)


@pytest.mark.parametrize("lanes", [1, 2, 9, 40])
def test_exact_lanes_reach_the_bound(lanes: int) -> None:
    width = 66.0 * (1 + (lanes - 1) * ROOT3 / 2)
    assert strip_cans_per_metre(width, 66.0) == pytest.approx(lanes * 1000 / 66.0, rel=1e-9)
    assert most_cans_per_metre(width, 66.0) == pytest.approx(lanes * 1000 / 66.0, rel=1e-9)
    pack = pack_between(width, 66.0)
    assert pack.cans_per_metre == pytest.approx(most_cans_per_metre(width, 66.0), rel=1e-9)


@given(w=st.floats(1.0, 60.0), more=st.floats(0.0, 2.0))
def test_more_width_never_holds_fewer(w: float, more: float) -> None:
    narrow, wide = strip_cans_per_metre(w, 1.0), strip_cans_per_metre(w + more, 1.0)
    assert wide >= narrow * (1 - 1e-6)
    assert narrow <= most_cans_per_metre(w, 1.0) * (1 + 1e-6)


def test_too_narrow_is_refused() -> None:
    with pytest.raises(InputError, match="clear_width_mm"):
        strip_cans_per_metre(65.0, 66.0)
