"""The plan view's primitives: which cans, where, and what stands along the line."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely import geometry

from packsim.scenario import load_scenario
from packsim.spray.jets import footprint_of
from viewer.line import LoadedLine, map_line, nearest_can, worst_can
from viewer.screen.camera import Camera
from viewer.screen.drawing import Cans, Polygon, Polyline, Text
from viewer.screen.layout import Box
from viewer.session.source import Live
from viewer.views.drops import OVER, drops, over_cans
from viewer.views.plan import cans_of, plan_drawing, ruler
from viewer.voids import shaded_voids

VIEW = Box(0, 0, 800, 400)


@pytest.fixture(scope="module")
def source(loaded):
    return Live(loaded, 3)


def test_the_cans_drawn_are_the_cans_in_sight(source):
    camera = Camera(900.0, 400.0, 1.0, VIEW)
    cans = cans_of(source.frame, camera, (-1e9, 1e9))
    x, y = camera.to_px(source.frame.x_mm, source.frame.y_mm)
    radius = float(source.frame.radius_mm.max())
    inside = (x >= -radius) & (x <= 800 + radius) & (y >= -radius) & (y <= 400 + radius)
    drawn = {(round(a, 3), round(b, 3)) for a, b in zip(cans.x_px, cans.y_px, strict=True)}
    wanted = {(round(a, 3), round(b, 3)) for a, b in zip(x[inside], y[inside], strict=True)}
    assert wanted <= drawn
    assert len(drawn) < len(source.frame)
    assert cans.radius_px == pytest.approx(source.frame.radius_mm[0], rel=0.01)


def test_cans_off_the_ends_are_left_out(source):
    camera = Camera(0.0, 400.0, 0.2, VIEW)
    line_map = source.line_map
    cans = next(
        i for i in plan_drawing(line_map, source.frame, camera).items if isinstance(i, Cans)
    )
    u = camera.u_mm + (cans.x_px - 400.0) / 0.2
    assert u.min() >= -1e-3
    assert u.max() <= line_map.length_mm + 1e-3
    assert float(source.frame.x_mm.min()) < 0.0


def test_under_the_pointer(make_frame):
    frame = make_frame([[0.0, 0.0], [66.0, 0.0]], numbers=[7, 9])
    assert nearest_can(frame, 60.0, 5.0) == 9
    assert nearest_can(frame, 400.0, 0.0) is None
    assert nearest_can(make_frame(np.empty((0, 2))), 0.0, 0.0) is None


def test_the_worst_can_is_the_one_that_can_lean_most_and_stands_here(source, make_frame):
    frame = source.frame
    here = (frame.x_mm >= 0) & (frame.x_mm < 1800) & (frame.role < 4)
    number = worst_can(frame, 0.0, 1800.0)
    lean = float(frame.lean_rad[frame.id == number][0])
    assert lean == pytest.approx(float(frame.lean_rad[here].max()))
    lying = make_frame([[5.0, 5.0]], role=4)
    assert worst_can(lying, 0.0, 100.0) is None


def test_stages_brackets_and_wires_are_where_the_line_has_them(source, loaded):
    camera = Camera(1500.0, 400.0, 0.25, VIEW)
    items = plan_drawing(source.line_map, source.frame, camera).items
    lines = [item for item in items if isinstance(item, Polyline)]
    bounds = {round(line.points[0][0]) for line in lines if line.role == "bound"}
    assert bounds == {round(camera.point_px(x, 0.0)[0]) for x in (0.0, 1800.0, 3000.0)}
    wires = [line for line in lines if line.role == "wire"]
    left = loaded.scenario.stages[0].guides.brackets[0].left_mm
    assert wires[0].points[0][1] == pytest.approx(camera.point_px(0.0, left)[1], abs=0.5)
    brackets = [i for i in items if isinstance(i, Polygon) and i.role == "bracket"]
    # both sides of every bracket
    assert len(brackets) == 2 * sum(len(s.guides.brackets) for s in loaded.scenario.stages)


def test_a_footprint_has_packsims_size_and_stands_at_its_nozzle(source, loaded):
    header = loaded.scenario.stages[0].headers[0]
    can = loaded.scenario.size(loaded.size)
    patch = footprint_of(header, can.height_mm)
    camera = Camera(500.0, 400.0, 0.9, VIEW)
    items = plan_drawing(source.line_map, source.frame, camera).items
    rings = [i for i in items if isinstance(i, Polygon) and i.role == "footprint"]
    assert len(rings) == header.count
    for ring, y in zip(rings, header.positions_mm, strict=True):
        points = np.array(ring.points)
        middle = camera.point_px(500.0, float(y))
        assert points.mean(axis=0) == pytest.approx(middle, abs=0.01)
        assert np.hypot(*(points - middle).T) == pytest.approx(patch.half_long_mm * 0.9)


def test_a_twisted_fan_turns_its_right_end_downstream(loaded):
    stage = loaded.scenario.stages[0]
    header = stage.headers[0]
    fan = replace(header.nozzle, pattern="fan", twist_rad=math.radians(20.0))
    stages = (replace(stage, headers=(replace(header, nozzle=fan),)), *loaded.scenario.stages[1:])
    scenario = loaded.scenario.with_stages(stages)
    grid = np.array([0.0, 3000.0])
    outline = map_line(scenario, scenario.sizes[0], grid, grid, grid).headers[0].outline_mm
    tip = outline[np.argmax(np.hypot(*outline.T))]
    tip = tip if tip[1] > 0 else -tip
    # y to the right, x downstream
    assert math.degrees(math.atan2(tip[0], tip[1])) == pytest.approx(20.0, abs=0.1)


def test_a_missing_can_leaves_a_shaded_void(source):
    frame = source.frame
    inside = np.flatnonzero((np.abs(frame.x_mm - 900) < 60) & (np.abs(frame.y_mm - 400) < 60))
    gone = int(inside[0])
    keep = np.arange(len(frame)) != gone
    arrays = ("x_mm", "y_mm", "radius_mm", "lean_rad", "direction_rad", "role", "id")
    less = replace(frame, **{name: getattr(frame, name)[keep] for name in arrays})
    voids = shaded_voids(less, source.line_map, 700.0, 1100.0)
    spot = geometry.Point(float(frame.x_mm[gone]), float(frame.y_mm[gone]))
    assert any(geometry.Polygon(void.outline_mm).buffer(0.01).contains(spot) for void in voids)
    before = shaded_voids(frame, source.line_map, 700.0, 1100.0)
    assert not any(geometry.Polygon(void.outline_mm).contains(spot) for void in before)


def test_ruler_names_stay_in_their_stages_and_clear_of_each_other(source):
    camera = Camera(1500.0, 400.0, 0.25, VIEW)
    texts = [i for i in ruler(source.line_map, camera, 1.0, "upper pack") if isinstance(i, Text)]
    named = [text.text.partition(":")[0] for text in texts]
    assert named == ["upper pack", "wash", "rinse"]
    for a, b in pairwise(texts):
        assert a.box.right <= b.box.x


def test_drops_fall_where_a_footprint_covers_and_the_same_at_the_same_moment(source):
    line_map = source.line_map
    header = line_map.headers[0]
    camera = Camera(header.x_mm, float(header.y_mm.mean()), 0.6, VIEW)
    (first, *_), (again, *_), (later, *_) = (
        drops(line_map, replace(source.frame, time_s=at_s), camera, 1.0, header.side)
        for at_s in (3.0, 3.0, 3.5)
    )
    assert np.array_equal(first.x_px, again.x_px)
    assert not np.array_equal(first.x_px, later.x_px)
    x, y = camera.to_px(np.full(header.y_mm.shape, header.x_mm), header.y_mm)
    nearest = np.hypot(first.x_px[:, None] - x, first.y_px[:, None] - y).min(axis=1)
    widest = np.hypot(*header.outline_mm.T).max() * camera.px_per_mm
    assert (nearest <= widest + 1e-9).all()
    # even over a disc: half of them are within its half area
    share = (nearest < widest / 2**0.5).mean()
    assert share > 0.4
    far = Camera(header.x_mm, 400.0, 0.05, VIEW)
    assert not drops(line_map, source.frame, far, 1.0, header.side)


def test_a_spray_pulses_as_cans_pass_under_it(source, make_frame):
    line_map = source.line_map
    header = line_map.headers[0]
    camera = Camera(header.x_mm, float(header.y_mm.mean()), 0.6, VIEW)
    first = float(header.y_mm[0])
    counts = []
    for away in np.arange(0.0, 66.0, 6.0):  # the next can of the row comes to the first nozzle
        row = [[header.x_mm - away, first], [header.x_mm - away + 66.0, first]]
        frame = make_frame(row)
        over = over_cans(header, frame)
        assert over.sum() == over[0]
        assert over[0] == (min(away, 66.0 - away) < OVER * 33.0)
        dots = drops(line_map, frame, camera, 1.0, header.side)
        strong = [item for item in dots if item.role == "drop"]
        assert len(strong) == over[0]
        counts.append(sum(item.x_px.size for item in dots))
    assert max(counts) > min(counts)
    assert not over_cans(header, make_frame(np.empty((0, 2)))).any()


def test_cones_fans_and_air_look_different(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    source = Live(LoadedLine(scenario, scenario.set_for), 1)
    shapes, inks = {}, {}
    for header in source.line_map.headers:
        camera = Camera(header.x_mm, float(header.y_mm.mean()), 0.6, VIEW)
        alone = replace(source.line_map, headers=(header,))
        items = plan_drawing(alone, source.frame, camera).items
        mark = next(i for i in items if isinstance(i, Polygon) and i.role == "nozzle")
        points = np.array(mark.points) - np.mean(mark.points, axis=0)
        long, thin = np.linalg.svd(points)[1]
        shapes.setdefault(header.pattern, set()).add(bool(long > 2.0 * thin))
        dots = drops(source.line_map, source.frame, camera, 1.0, header.side)
        inks.setdefault(header.medium, set()).update(item.role for item in dots)
    assert shapes["fan"] == {True}
    assert shapes["cone"] == {False}
    assert inks["gas"]
    assert inks["gas"] <= {"air", "air past"}
    assert not inks["gas"] & inks["liquid"]


def test_what_a_stage_does_stands_beside_its_name_where_there_is_room(root):
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    line_map = map_line(scenario, scenario.sizes[0], *(np.array([0.0, 1e5]) for _ in range(3)))
    said = dict(zip(line_map.stages, line_map.does, strict=True))
    assert said["wash"] == "spray above and below"
    assert said["pre-rinse"] == "spray above"
    assert said["blow-off"] == "air above"
    assert said["drain"] == "drain"
    near = Camera(5000.0, 400.0, 0.4, VIEW)
    texts = [item.text for item in ruler(line_map, near, 1.0) if hasattr(item, "text")]
    assert "wash: spray above and below" in texts
