from __future__ import annotations

import math

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from packsim.pack.faces import faces_between


@given(seed=st.integers(0, 100_000))
def test_faces_tile_the_strip(loose_pack, seed: int) -> None:
    loose = loose_pack(seed)
    width, length = loose.clear_width_mm, loose.length_mm
    faces = faces_between(loose.centres_mm, loose.diameter_mm, width, length)
    assert len(faces.guide) == 2 * len(loose.centres_mm)
    names = faces.side.ravel()[faces.twins()]
    assert (names[:, 0] == names[:, 1]).all()
    assert len(np.unique(names[:, 0])) == 3 * len(loose.centres_mm)
    shapes = shapely.polygons(faces.corners_mm)
    np.testing.assert_allclose(shapely.area(shapes), faces.area_mm2, rtol=1e-9)
    # neighbouring periods side by side: no two faces overlap, none is missing
    moved = [
        shapely.transform(shapes, lambda xy, k=k: xy + np.array([[k * length, 0.0]]))
        for k in (-2, -1, 0, 1, 2)
    ]
    seen = shapely.union_all(shapely.set_precision(np.concatenate(moved), 1e-7))
    strip = shapely.box(length, 0.0, 2 * length, width)
    missing = shapely.difference(strip, shapely.buffer(seen, 1e-5))
    assert missing.area < 1e-3
    assert math.isclose(faces.area_mm2.sum(), width * length, rel_tol=1e-12)


@given(seed=st.integers(0, 100_000))
def test_triangles_have_empty_circumcircles(loose_pack, seed: int) -> None:
    """The defining property, with the mirrored and repeated cans taken in."""
    loose = loose_pack(seed)
    width, length = loose.clear_width_mm, loose.length_mm
    faces = faces_between(loose.centres_mm, loose.diameter_mm, width, length)
    a, b, c = (faces.corners_mm[faces.guide == 0, k] for k in range(3))
    x, y = loose.centres_mm.T
    points = np.concatenate(
        [
            np.column_stack((x + k * length, image))
            for k in range(-6, 8)
            for image in (y, -y, 2 * width - y)
        ]
    )
    for corner in zip(a, b, c, strict=True):
        p, q, r = corner
        matrix = 2 * np.array([q - p, r - p])
        centre = np.linalg.solve(matrix, [q @ q - p @ p, r @ r - p @ p])
        radius = math.dist(centre, p)
        assert np.hypot(*(points - centre).T).min() >= radius * (1 - 1e-5)
