from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from packsim.errors import InputError
from packsim.line import LAYOUTS
from packsim.pack.state import candidate_packs, pack_between
from packsim.pack.voids import find_voids, void_polygons

D = 66.0
SEGMENTS = 64


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("width", [1.4, 4.45, 9.3])
@pytest.mark.parametrize("fill", [1.0, 0.83])
def test_outlines_have_the_areas_of_the_voids(width: float, layout: str, fill: float) -> None:
    """Each outline is too large by what inscribed polygons leave out, (1 - s) of the can parts."""
    step = 2 * math.pi / (4 * SEGMENTS)
    left_out = 1.0 - math.sin(step) / step
    for pack in candidate_packs(width * D, D, layout, 1.0, fill):
        voids = find_voids(pack)
        drawn = shapely.area(void_polygons(voids, SEGMENTS))
        extra = drawn - voids.area_mm2
        assert extra.min() > -1e-6
        cans = left_out * len(pack) * math.pi * D**2 / 4
        assert extra.sum() == pytest.approx(cans, rel=0.02)
        assert extra.max() <= cans * (1 + 1e-6)


def test_outlines_reach_neither_cans_nor_guides() -> None:
    pack = pack_between(4.45 * D, D, state="blocks")
    shapes = void_polygons(find_voids(pack))
    strip = shapely.box(-pack.length_mm, 0.0, 2 * pack.length_mm, pack.clear_width_mm)
    assert shapely.within(shapes, shapely.buffer(strip, 1e-6)).all()
    inner = shapely.buffer(shapely.points(pack.centres_mm), 0.99 * D / 2)
    assert not shapely.intersects(shapely.union_all(shapes), shapely.union_all(inner))


def test_the_largest_circle_lies_in_its_outline() -> None:
    pack = pack_between(9.3 * D, D, "crosswise", state="blocks")
    voids = find_voids(pack)
    shapes = void_polygons(voids)
    whole = np.array([shape.geom_type == "Polygon" for shape in shapes])
    assert whole.mean() > 0.9
    circles = shapely.buffer(shapely.points(voids.centre_mm), voids.circle_mm / 2 * 0.999)
    image = shapely.transform(circles, lambda xy: xy + np.array([[pack.length_mm, 0.0]]))
    inside = shapely.contains(shapes, circles) | shapely.contains(shapes, image)
    assert inside.all()


def test_an_empty_strip_is_its_own_outline() -> None:
    pack = pack_between(60.0, D, length_mm=500.0)
    (shape,) = void_polygons(find_voids(pack))
    assert shape.area == 30_000.0


def test_no_segments_are_refused() -> None:
    with pytest.raises(InputError, match="quarter_segments"):
        void_polygons(find_voids(pack_between(1130.0, D)), quarter_segments=0)
