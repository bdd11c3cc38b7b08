from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Delaunay

from packsim.errors import InputError
from packsim.line import LAYOUTS
from packsim.pack.state import candidate_packs, pack_between
from packsim.pack.voids import find_voids, voids_between

D = 66.0
R = D / 2
ROOT3 = math.sqrt(3.0)
PERIODS = 7

seeds = st.integers(0, 100_000)


def repeated(centres: np.ndarray, length: float) -> np.ndarray:
    shifts = np.array([[k * length, 0.0] for k in range(-1, PERIODS + 1)])
    return (centres + shifts[:, None]).reshape(-1, 2)


def free_parts(
    centres: np.ndarray, diameter: float, width: float, length: float
) -> list[shapely.Geometry]:
    """The strip over `PERIODS` periods less discs as fine polygons, in its parts."""
    points = shapely.points(repeated(centres, length))
    discs = shapely.union_all(shapely.buffer(points, diameter / 2, quad_segs=64))
    strip = shapely.box(0.0, 0.0, PERIODS * length, width)
    parts = shapely.get_parts(shapely.difference(strip, discs))
    return [part for part in parts if part.area > 1e-6 * diameter**2]


def of_one_period(parts: list[shapely.Geometry], length: float) -> list[shapely.Geometry]:
    """Parts with their middle in one period, and once each that runs all along.

    The period starts at an odd place, so that no symmetric part has its middle on the border.
    """
    endless = [p for p in parts if p.bounds[2] - p.bounds[0] > (PERIODS - 1) * length]
    start = 2.137 * length
    here = [p for p in parts if start <= p.centroid.x < start + length and p not in endless]
    return here + endless


def areas_by_scipy(
    centres: np.ndarray, diameter: float, width: float, length: float, gap: float
) -> list[float]:
    """Free areas of the voids of one period, from scipy's triangles of a mirrored plane."""
    plane = repeated(centres, length)
    y = plane[:, 1]
    points = np.concatenate([np.column_stack((plane[:, 0], v)) for v in (y, -y, 2 * width - y)])
    triangles = Delaunay(points)
    corners = points[triangles.simplices]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    home = (triangles.simplices < len(plane)).sum(axis=1)
    free = (np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2 - math.pi * diameter**2 / 8) * (
        np.where(home == 3, 1.0, 0.5)
    )
    face, corner = np.nonzero(triangles.neighbors >= 0)
    other = triangles.neighbors[face, corner]
    ends = np.array([[1, 2], [0, 2], [0, 1]])[corner]
    span = corners[face, ends[:, 0]] - corners[face, ends[:, 1]]
    joins = (np.hypot(*span.T) > diameter + gap) & (home[face] > 0) & (home[other] > 0)
    links = (face[joins], other[joins])
    graph = coo_array((np.ones(len(links[0])), links), shape=(len(free), len(free)))
    _, group = connected_components(graph, directed=False)
    middle = corners.mean(axis=1)[:, 0]
    found = []
    for label in np.unique(group[home > 0]):
        own = group == label
        x = float(middle[own].mean())
        if 2.137 * length <= x < 3.137 * length and np.ptp(middle[own]) < 2 * length:
            found.append(float(free[own].sum()))
    return sorted(found)


def test_interstice_of_three_cans_P03_and_P05(published) -> None:
    pack = pack_between(D * (1 + 9 * ROOT3 / 2), D)
    voids = find_voids(pack)
    plain = (voids.place == "interstice") & (np.abs(voids.area_mm2 / R**2 - 0.16) < 0.01)
    assert plain.sum() == 2 * 9 * len(pack) / 10
    assert published["P03"].agrees(voids.area_mm2[plain].max() / R**2)
    assert published["P03"].agrees(voids.area_mm2[plain].min() / R**2)
    assert published["P05"].agrees(voids.circle_mm[plain].max() / D)  # from memory
    exact = (ROOT3 / 4 - math.pi / 8) * D**2
    np.testing.assert_allclose(voids.area_mm2[plain], exact, rtol=1e-10)


def test_guide_gap_of_two_touching_cans() -> None:
    """Half a rectangle D by D less two quarter discs; the circle between two cans and a line that
    touch each other has R/4 (Descartes, with one straight side)."""
    pack = pack_between(D * (1 + 9 * ROOT3 / 2), D)
    voids = find_voids(pack)
    gap = voids.circle_mm > 0.16 * D
    assert gap.sum() == 2 * len(pack) / 10
    assert set(voids.place[gap]) == {"interstice"}
    np.testing.assert_allclose(voids.area_mm2[gap], D * R - math.pi * R**2 / 2, rtol=1e-10)
    np.testing.assert_allclose(voids.circle_mm[gap], D / 4, rtol=1e-9)
    np.testing.assert_allclose(np.abs(voids.centre_mm[gap, 1] - pack.clear_width_mm / 2).min(),
                               pack.clear_width_mm / 2 - D / 8)  # fmt: skip


@pytest.mark.parametrize("rows", [1, 2, 5])
@pytest.mark.parametrize("lanes", [2, 5])
def test_square_pack_P02_P04_P06(published, lanes: int, rows: int) -> None:
    """Four cans on one circle may be cut along either diagonal; it must not show."""
    row, lane = np.meshgrid(np.arange(rows), np.arange(lanes))
    centres = np.column_stack((row.ravel() * D, lane.ravel() * D + R))
    voids = voids_between(centres, D, lanes * D, rows * D)
    squares = voids.place == "interior"
    assert squares.sum() == rows * (lanes - 1)
    assert voids.by_place["interstice"] == 2 * rows
    assert published["P02"].agrees(1.0 - voids.free_area_fraction)
    assert all(published["P04"].agrees(a) for a in voids.area_mm2[squares] / R**2)
    assert all(published["P06"].agrees(c) for c in voids.circle_mm[squares] / D)
    np.testing.assert_allclose(voids.circle_mm[squares], (math.sqrt(2.0) - 1) * D, rtol=1e-9)


def test_one_missing_can_leaves_room_for_exactly_one() -> None:
    pack = pack_between(D * (1 + 6 * ROOT3 / 2), D, length_mm=8 * D)
    gone = np.flatnonzero(np.abs(pack.centres_mm - (4 * D + R, R + 3 * ROOT3 * R)).max(1) < 1e-6)
    assert len(gone) == 1
    voids = voids_between(
        np.delete(pack.centres_mm, gone, axis=0), D, pack.clear_width_mm, pack.length_mm
    )
    hole = int(np.flatnonzero(voids.holds_a_can)[0])
    assert voids.holds_a_can.sum() == 1
    assert voids.place[hole] == "interior"
    assert voids.circle_mm[hole] == pytest.approx(D, rel=1e-9)
    np.testing.assert_allclose(voids.centre_mm[hole], pack.centres_mm[gone[0]], atol=1e-6)
    # the hexagon of six neighbours less two whole discs at its six corners
    assert voids.area_mm2[hole] == pytest.approx(1.5 * ROOT3 * D**2 - 2 * math.pi * R**2, rel=1e-9)


@pytest.mark.parametrize("missing", [1, 2, 3, 4])
def test_a_row_of_missing_cans_is_a_crack_from_three_on(missing: int) -> None:
    pack = pack_between(D * (1 + 6 * ROOT3 / 2), D, length_mm=12 * D)
    middle = np.flatnonzero(np.abs(pack.centres_mm[:, 1] - pack.clear_width_mm / 2) < 1e-6)
    left = np.delete(pack.centres_mm, middle[3 : 3 + missing], axis=0)
    voids = voids_between(left, D, pack.clear_width_mm, pack.length_mm)
    assert voids.place[voids.area_mm2.argmax()] == ("crack" if missing > 2 else "interior")


@pytest.mark.parametrize(("layout", "cracks"), [("lengthwise", 2 * 18), ("crosswise", 2 * 15)])
def test_cracks_run_between_blocks_only(layout: str, cracks: int) -> None:
    """19 lanes lean on each other in 18 rhombs per crack; 17 cans across in at most 16."""
    slack, strained, blocks = (
        find_voids(pack).by_place for pack in candidate_packs(1130.0, D, layout, 1.0)
    )
    assert slack["crack"] == strained["crack"] == 0
    assert blocks["crack"] == cracks
    assert blocks["interior"] == 0


@given(width=st.floats(1.0, 12.0), layout=st.sampled_from(LAYOUTS), fill=st.floats(0.3, 1.0))
def test_free_area_closes_for_every_pack(width: float, layout: str, fill: float) -> None:
    for pack in candidate_packs(width * D, D, layout, 300.0, fill):
        voids = find_voids(pack)
        strip = pack.clear_width_mm * pack.length_mm
        left = strip - len(pack) * math.pi * R**2
        assert voids.free_area_mm2 == pytest.approx(left, abs=1e-9 * strip)
        assert voids.free_area_fraction == pytest.approx(1.0 - pack.density, abs=1e-9)
        assert sum(voids.by_place.values()) == voids.count
        assert (voids.circle_mm > 0.0).all()
        # a lens of one part in 10⁶ is all that rounding may add between guide and can
        assert (math.pi / 4 * voids.circle_mm**2 <= voids.area_mm2 * (1 + 1e-4)).all()
        assert (voids.centre_mm[:, 1] >= voids.circle_mm / 2 - 1e-4).all()


@given(seed=seeds, gap=st.floats(0.01, 0.2))
def test_count_against_polygons(loose_pack, seed: int, gap: float) -> None:
    """Cans grown by half the gap close exactly the gaps that do not join voids."""
    loose = loose_pack(seed)
    strip = (loose.clear_width_mm, loose.length_mm)
    voids = voids_between(loose.centres_mm, D, *strip, gap * D)
    grown = free_parts(loose.centres_mm, D * (1 + gap), *strip)
    assert voids.count == len(of_one_period(grown, loose.length_mm))


@given(seed=seeds, gap=st.floats(0.01, 0.2))
def test_areas_against_scipy(loose_pack, seed: int, gap: float) -> None:
    loose = loose_pack(seed)
    strip = (loose.clear_width_mm, loose.length_mm)
    voids = voids_between(loose.centres_mm, D, *strip, gap * D)
    want = areas_by_scipy(loose.centres_mm, D, *strip, gap * D)
    ours = np.sort(voids.area_mm2)
    # scipy's list lacks voids that run on for two periods or more
    assert len(want) <= len(ours)
    for area in want:
        assert np.abs(ours - area).min() <= 1e-7 * D**2
    if len(want) == len(ours):
        np.testing.assert_allclose(ours, want, atol=1e-7 * D**2)
    total = loose.clear_width_mm * loose.length_mm - len(loose.centres_mm) * math.pi * R**2
    assert voids.free_area_mm2 == pytest.approx(total, abs=1e-9 * np.prod(strip))


@given(seed=seeds)
def test_largest_circle_against_polygons(loose_pack, seed: int) -> None:
    loose = loose_pack(seed)
    strip = (loose.clear_width_mm, loose.length_mm)
    voids = voids_between(loose.centres_mm, D, *strip)
    parts = free_parts(loose.centres_mm, D, *strip)
    radii = [shapely.length(shapely.maximum_inscribed_circle(p, tolerance=1e-3)) for p in parts]
    # polygons of 256 sides stand up to R (1 - cos(π/256)) inside their discs
    # and the search in them stops early: it may find less, never more
    assert voids.largest_circle_mm >= 2 * max(radii) - 0.012
    best = int(voids.circle_mm.argmax())
    at = voids.centre_mm[best]
    clear = np.hypot(*(repeated(loose.centres_mm, loose.length_mm) - at).T).min() - R
    walls = min(at[1], loose.clear_width_mm - at[1])
    assert min(clear, walls) == pytest.approx(voids.largest_circle_mm / 2, abs=1e-4)


@pytest.mark.parametrize("width", [2.4, 3.3, 4.45, 5.0])
@pytest.mark.parametrize(("layout", "state"), [(0, 1), (1, 1), (0, 2), (1, 2)])
def test_each_circle_and_area_against_polygons(width: float, layout: int, state: int) -> None:
    """Every void of strained and block packs, cans grown a little so that contacts close."""
    packs = {p.state: p for p in candidate_packs(width * D, D, LAYOUTS[layout], 1.0)}
    pack = packs.get(("slack", "strained", "blocks")[state])
    if pack is None:
        assert (width, layout) == (5.0, 1)
        return
    voids = find_voids(pack)
    parts = free_parts(pack.centres_mm, D * (1 + 2e-4), pack.clear_width_mm, pack.length_mm)
    parts = of_one_period(parts, pack.length_mm)
    assert len(parts) == voids.count
    areas = sorted(part.area for part in parts)
    radii = [shapely.length(shapely.maximum_inscribed_circle(p, tolerance=1e-3)) for p in parts]
    np.testing.assert_allclose(np.sort(voids.area_mm2), areas, rtol=0.01)
    np.testing.assert_allclose(np.sort(voids.circle_mm), np.sort(radii) * 2, atol=0.05)


@given(seed=seeds, gap=st.floats(0.0, 0.3), factor=st.floats(0.01, 30.0))
def test_mirror_shift_and_scale(loose_pack, seed: int, gap: float, factor: float) -> None:
    loose = loose_pack(seed)
    width, length = loose.clear_width_mm, loose.length_mm
    one = voids_between(loose.centres_mm, D, width, length, gap * D)
    moved = (loose.centres_mm * (1.0, -1.0) + (0.37 * length, width)) * factor
    other = voids_between(moved, factor * D, factor * width, factor * length, factor * gap * D)
    order, again = np.argsort(one.area_mm2), np.argsort(other.area_mm2)
    np.testing.assert_allclose(
        one.area_mm2[order], other.area_mm2[again] / factor**2, rtol=1e-6, atol=1e-6 * D**2
    )
    np.testing.assert_allclose(
        np.sort(one.circle_mm), np.sort(other.circle_mm) / factor, atol=1e-4 * D
    )
    assert one.by_place == other.by_place


@pytest.mark.parametrize("length", [1.5, 40.0, 4000.0])
def test_a_lonely_can_leaves_a_circle_as_wide_as_the_strip(length: float) -> None:
    voids = voids_between(np.array([[10.0, R + 3.0]]), D, D + 5.0, length * D)
    assert voids.count == 1
    assert voids.free_area_mm2 == pytest.approx((D + 5) * length * D - math.pi * R**2, rel=1e-9)
    # between the can and its image, centres on the middle line, when there is room for it
    if length > 2.5:
        assert voids.largest_circle_mm == D + 5.0
        assert voids.centre_mm[0, 1] == (D + 5.0) / 2
    else:
        assert voids.largest_circle_mm < D + 5.0


def test_an_empty_strip_is_one_void() -> None:
    voids = find_voids(pack_between(60.0, D, length_mm=500.0))
    assert voids.centre_mm.tolist() == [[250.0, 30.0]]
    assert (voids.count, voids.largest_circle_mm, voids.free_area_fraction) == (1, 60.0, 1.0)
    assert not voids.holds_a_can.any()


def test_the_cut_does_not_depend_on_where_the_period_starts() -> None:
    """A square pack of awkward length, seen from a hundred starts."""
    row, lane = np.meshgrid(np.arange(7), np.arange(4))
    for start in np.linspace(-3.0, 9.0, 100) * D:
        centres = np.column_stack((row.ravel() * D + start, lane.ravel() * D + R))
        assert voids_between(centres, D, 4 * D, 7 * D).by_place["interior"] == 21


@pytest.mark.parametrize(
    ("centres", "words"),
    [
        ([[1.0, math.nan]], "not finite"),
        ([[1.0, -1.0]], "beyond a guide"),
        ([[1.0, 200.0]], "beyond a guide"),
        ([[1.0, 40.0], [1.0, 40.0], [90.0, 40.0]], "one place"),
    ],
)
def test_bad_centres_are_refused(centres: list[list[float]], words: str) -> None:
    with pytest.raises(InputError, match=words):
        voids_between(np.array(centres), D, 100.0, 300.0)


def test_a_wide_open_gap_is_refused() -> None:
    with pytest.raises(InputError, match="open_gap_mm"):
        find_voids(pack_between(1130.0, D), 0.5 * D)
