"""The camera: scale, flip, zoom and fit, without a window."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.screen.camera import MAX_PX_PER_MM, MIN_PX_PER_MM, Camera
from viewer.screen.layout import Box

VIEW = Box(10, 20, 400, 300)
places = st.floats(-1e5, 1e5)
scales = st.floats(0.01, 10.0)


@given(places, places, scales, places, places, st.booleans())
def test_there_and_back(u0, v0, scale, u, v, up):
    camera = Camera(u0, v0, scale, VIEW, up)
    back = camera.to_mm(*camera.point_px(u, v))
    assert back == pytest.approx((u, v), abs=1e-6)


@given(places, places, scales)
def test_arrays_and_points_agree(u, v, scale):
    camera = Camera(5.0, -3.0, scale, VIEW)
    x, y = camera.to_px([u], [v])
    assert (float(x[0]), float(y[0])) == pytest.approx(camera.point_px(u, v))


def test_a_plan_has_the_left_edge_on_top_an_elevation_the_mat_below():
    plan, side = Camera(0, 0, 2.0, VIEW), Camera(0, 0, 2.0, VIEW, up=True)
    assert plan.point_px(0, 10)[1] > plan.point_px(0, 0)[1]
    assert side.point_px(0, 10)[1] < side.point_px(0, 0)[1]
    assert plan.point_px(0, 0) == (210.0, 170.0)


@given(scales, st.floats(0.2, 5.0), st.floats(10, 410), st.floats(20, 320), st.booleans())
def test_zoom_keeps_what_is_under_the_pointer(scale, factor, x, y, up):
    camera = Camera(100.0, 50.0, scale, VIEW, up)
    under = camera.to_mm(x, y)
    assert camera.zoomed(factor, (x, y)).point_px(*under) == pytest.approx((x, y), abs=1e-6)


def test_zoom_stays_within_its_limits():
    camera = Camera(0, 0, 1.0, VIEW)
    assert camera.zoomed(1e9).px_per_mm == MAX_PX_PER_MM
    assert camera.zoomed(1e-9).px_per_mm == MIN_PX_PER_MM


@given(st.floats(-500, 500), st.floats(-500, 500), st.booleans())
def test_pan_moves_the_picture_with_the_hand(dx, dy, up):
    camera = Camera(0, 0, 0.5, VIEW, up)
    x, y = camera.point_px(33.0, 44.0)
    assert camera.panned(dx, dy).point_px(33.0, 44.0) == pytest.approx((x + dx, y + dy))


@given(places, places, st.floats(1, 1e4), st.floats(1, 1e4))
def test_fit_shows_all_of_it(u, v, wide, tall):
    camera = Camera(0, 0, 1.0, VIEW).fitted((u, v), (u + wide, v + tall), margin_px=10)
    x, y = camera.to_px(np.array([u, u + wide]), np.array([v, v + tall]))
    assert x.min() >= VIEW.x + 9.99
    assert x.max() <= VIEW.right - 9.99
    assert y.min() >= VIEW.y + 9.99
    assert y.max() <= VIEW.bottom - 9.99


def test_what_is_seen_is_the_view_in_the_world():
    low_u, high_u, low_v, high_v = Camera(100.0, 50.0, 2.0, VIEW).spans_mm()
    assert (low_u, high_u, low_v, high_v) == (0.0, 200.0, -25.0, 125.0)
