"""A tip is held and shown as the passage made it, which goes on as if nobody had looked."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pygame
import pytest
import shapely

from packsim.passage.tipped import FLAT
from viewer.line import index_of
from viewer.screen.camera import Camera
from viewer.screen.drawing import Polygon, Writer
from viewer.screen.layout import Box
from viewer.session.actions import act, tick
from viewer.session.looking import point, zoom_at
from viewer.session.rocking import with_tops_out
from viewer.session.tips import at_tip
from viewer.views.down import cans_down
from viewer.views.panels import roles_panel, tips_of
from viewer.views.side_scene import scene_now, scene_of_tip
from viewer.views.side_view import SideView
from viewer.views.tip import now_words, tip_words
from viewer.views.whole_window import whole_window
from viewer.window.app import main
from viewer.window.events import Mouse, handle


def texts(session) -> list[str]:
    return [text.text for text in whole_window(session).texts]


def held(session, seconds: float = 60.0, start: float = 0.0):
    """Run until a tip is held; return its show and the time."""
    now = start
    while session.tip is None and now < start + seconds:
        now += 0.05
        tick(session, now)
    assert session.tip is not None
    return session.tip, now


@pytest.fixture
def loose(make_session, loosen):
    """A session whose guides are too wide, soon before the first can tips."""

    def make():
        session = make_session()
        act(session, "voids")  # shading is not looked at, and takes a third of the time
        loosen(session)
        return session

    return make


def test_the_next_tip_is_held_and_told_by_its_own_numbers(loose):
    session = loose()
    act(session, "next tip")
    show, now = held(session)
    event = show.fall.event
    said = tip_words(event, len(show.fall.cans) - 1, session.display)
    assert said in texts(session)
    for number in (
        f"{event.energy_mJ:.3f} mJ",
        f"{event.needed_mJ:.3f} mJ",
        f"{event.gap_mm:.1f} mm",
    ):
        assert number in said
    assert event.energy_mJ > event.needed_mJ
    # the passage stands still meanwhile, the show goes on to its end and stops there
    for _ in range(2000):
        now += 0.05
        assert tick(session, now) == 0
    assert show.shown_s == pytest.approx(show.last_s)
    assert not show.running
    assert "down" in now_words(session, show)
    act(session, "close")
    assert session.packs[0].source.events[0] == event


def test_the_passage_goes_on_as_if_nobody_had_looked(loose):
    looked, plain = loose(), loose()
    act(looked, "next tip")
    _, now = held(looked)
    for key in (("one step", 1), ("one step", -1), ("pause", 0), ("tip time", 30), ("seconds", -1)):
        act(looked, *key)
        now += 0.05
        tick(looked, now)
    act(looked, "close")
    assert looked.tip is None
    ahead_s = looked.pack.source.frame.time_s - plain.pack.source.frame.time_s
    plain.step(round(ahead_s / 0.05))
    for session in (looked, plain):
        session.step(40)
    a, b = looked.pack.source.frame, plain.pack.source.frame
    assert a.time_s == pytest.approx(b.time_s)
    assert np.array_equal(a.x_mm, b.x_mm)
    assert np.array_equal(looked.pack.source.tips, plain.pack.source.tips)


def test_the_can_turns_over_its_rim_and_those_in_the_way_lean(loose):
    session = loose()
    act(session, "next tip")
    show, _ = held(session)
    fall, leans = show.fall, []
    for share in np.linspace(0.0, 1.0, 40):
        at_tip(session, show, show.at_share(float(share)))
        assert show.share_of(show.shown_s) == pytest.approx(share, abs=1e-6)
        leans.append(fall.leans_rad(max(show.shown_s, 0.0))[0])
    assert leans[0] == 0.0
    assert (np.diff(leans) >= 0.0).all()
    assert leans[-1] == fall.swing.lean_rad[-1] >= fall.leaners.balance_rad[0]
    assert fall.swing.at(show.balance_s) == pytest.approx(float(fall.leaners.balance_rad[0]))


def test_before_the_kick_the_gap_is_that_of_the_moment(loose):
    session = loose()
    act(session, "next tip")
    show, _ = held(session)
    at_tip(session, show, -1.0)
    early = session.packs[0].source.frame.time_s
    assert early == pytest.approx(show.fall.event.time_s - 1.0, abs=0.051)
    assert show.gap_mm != show.fall.event.gap_mm
    at_tip(session, show, 0.0)
    assert show.gap_mm == show.fall.event.gap_mm
    assert f"{show.gap_mm:.1f}, " in " ".join(texts(session))


def test_a_tip_is_shown_again_from_the_list(loose):
    session = loose()
    session.step(120)
    events = session.pack.source.events
    assert len(events) > 1
    act(session, "tips")
    hits = [hit for hit in whole_window(session).hits if hit.action == "tip"]
    assert [hit.argument for hit in hits] == list(range(len(events)))[::-1][: len(hits)]
    act(session, "tip", hits[0].argument)
    assert session.tip is not None
    assert session.tip.number == len(events) - 1
    act(session, "tip", -1)  # again from the start
    assert session.tip.shown_s == session.tip.first_s
    act(session, "turn", 1)  # a change closes it
    assert session.tip is None


def test_without_a_tip_there_is_none_to_show_and_every_tip_may_be_held(loose):
    session = loose()
    act(session, "tip", -1)
    assert session.message == "no can has tipped yet"
    act(session, "every tip")
    _, now = held(session)
    act(session, "close")
    held(session, start=now)


@pytest.mark.parametrize("way", ["leans", "lies across", "leaves a hole"])
def test_a_tipped_can_in_the_side_view_is_down_dry_and_between_the_guides(
    make_session, loaded, way
):
    stages = tuple(replace(stage, tipped=way) for stage in loaded.scenario.stages)
    line = replace(loaded, scenario=loaded.scenario.with_stages(stages))
    session = make_session(at=line)
    act(session, "turn", 60)
    session.step(320)
    source, seen = session.pack.source, 0
    for event in source.events:
        i = index_of(source.frame, event.can)
        if i is None or not 0.0 < source.frame.x_mm[i] < source.line_map.length_mm:
            continue
        scene = scene_now(source, i, {})
        if way == "leaves a hole":
            assert scene.body is None
            continue
        seen += 1
        assert scene.body.state == "tipped"
        assert abs(scene.body.lean_rad) > 0.02
        session.pack.picked, session.stage = event.can, event.stage
        items = whole_window(session).items
        box = session.layout.elevation
        inside = [item for item in items if isinstance(item, Polygon) and item.clip]
        inside = [item for item in inside if box.holds(item.clip.x, item.clip.y)]
        cans = [item for item in inside if item.role == "tipped"]
        assert cans
        assert not [item for item in inside if item.role in ("lean", "balance")]
        view = SideView(Writer(1.0), box, scene)
        body = shapely.Polygon(view.place(scene.body, view.section(scene.body)[0].corners))
        for (face, _), z in product(scene.faces_mm, scene.stage.guides.wires.heights_mm):
            assert not body.buffer(-1.0).contains(shapely.Point(face, z))
        if abs(scene.body.lean_rad) > 0.9 * FLAT:
            assert not [item for item in inside if item.role == "pool"]
    assert seen > 1 or way == "leaves a hole"


def test_with_two_packs_the_views_follow_the_one_where_cans_tip_until_one_is_chosen(loose):
    session = loose()
    act(session, "beside")
    act(session, "undo")
    act(session, "turn", -60)
    quiet, tipping = session.packs[1], session.packs[0]
    session.step(320)
    assert int(quiet.source.tips.sum()) == 0 < int(tipping.source.tips.sum())
    assert session.pack is quiet  # changes go there all the while
    assert session.watched is tipping
    assert "Cans in view, upper pack" in texts(session)
    act(session, "other pack")
    act(session, "other pack")
    assert session.watched is quiet


def test_the_view_of_a_fall_keeps_its_gap(loose):
    """Every can and guide drawn ahead of the falling one is as far off as the event says."""
    session = loose()
    act(session, "every tip")
    now = 0.0
    for _ in range(2):
        show, now = held(session, start=now)
        at_tip(session, show, 0.0)
        source = session.packs[0].source
        i = index_of(source.frame, show.fall.event.can)
        scene = scene_of_tip(source, i, show)
        radius = scene.can.diameter_mm / 2.0
        ahead = [body.pivot_mm - 3.0 * radius for body in scene.others if body.pivot_mm > radius]
        walls = [u - radius for u, side in scene.faces_mm if side > 0.0]
        nearest = min([*ahead, *walls, math.inf])
        assert nearest == pytest.approx(show.fall.event.gap_mm, abs=0.6)
        act(session, "close")


def test_cans_that_stay_are_seen_to_rock_from_near_and_not_from_far(make_session):
    session = make_session()
    act(session, "zoom out")
    session.step(40)
    assert not session.pack.kicked  # the whole line: a lean would be less than a pixel
    act(session, "zoom stage")
    for _ in range(8):
        act(session, "zoom in")
    session.step(1)
    assert session.pack.kicked
    frame = session.pack.source.frame
    later = replace(frame, time_s=session.pack.kicked[-1][0] + 0.005)
    out = with_tops_out(later, session.pack.kicked, 122.0)
    moved = np.hypot(out.x_mm - frame.x_mm, out.y_mm - frame.y_mm)
    assert 0 < (moved > 0.01).sum() < len(frame) // 2
    room = np.concatenate([rocks.room_rad for _, rocks in session.pack.kicked])
    assert moved.max() <= 122.0 * math.sin(room.max()) + 1e-3
    act(session, "one step", -1)
    assert all(at_s < session.pack.source.frame.time_s for at_s, _ in session.pack.kicked)


@pytest.mark.all
def test_a_capture_can_begin_at_the_next_tip(root, tmp_path, monkeypatch):
    kept = []

    def capture(session, out, **options):
        kept.append(session.tip)
        return out

    monkeypatch.setattr("viewer.window.app.capture", capture)
    line = root / "scenarios" / "swing_line.toml"
    main([str(line), "--size", "sleek body", "--look", "tip", "--capture", str(tmp_path / "t.png")])
    assert kept[0].shown_s == kept[0].first_s < 0.0


def test_a_can_that_is_down_is_drawn_from_above_as_long_as_it_is(make_frame):
    camera = Camera(0.0, 0.0, 1.0, Box(0, 0, 800, 600))
    half = math.pi / 2.0
    frame = make_frame([[0.0, 0.0], [200.0, 0.0]], role=4, lean=half, numbers=[3, 4])
    shapes = cans_down(
        frame,
        camera,
        (-500.0, 500.0),
        124.0,
        ways={3: "lies across", 4: "leaves a hole"},
        unit_px=1,
    )
    corners = np.array([point for shape in shapes[:4] for point in shape.points])
    x0, _ = camera.point_px(0.0, 0.0)
    # flat: the body from end to end about its middle, as wide as the can
    assert corners[:, 0].min() == pytest.approx(x0 - 62.0, abs=0.5)
    assert corners[:, 0].max() == pytest.approx(x0 + 62.0, abs=0.5)
    assert np.ptp(corners[:, 1]) == pytest.approx(66.0, abs=0.5)
    # marks of the state are lines
    assert [s.filled for s in shapes[4:] if isinstance(s, Polygon)] == [False]
    small = replace(camera, px_per_mm=0.05)
    assert not cans_down(frame, small, (-500.0, 500.0), 124.0, ways={}, unit_px=1)


def test_the_mouse_goes_along_the_time_bar_and_leaves_the_plans_alone(loose):
    session = loose()
    act(session, "next tip")
    show, _ = held(session)
    camera, picked = session.camera, session.packs[0].picked
    drawing, mouse = whole_window(session), Mouse()
    hits = [hit for hit in drawing.hits if hit.action == "tip time"]
    first, last = hits[10].box, hits[50].box
    event = pygame.event.Event
    for kind, box, more in (
        (pygame.MOUSEBUTTONDOWN, first, {"button": 1}),
        (pygame.MOUSEMOTION, last, {"rel": (9, 0), "buttons": (1, 0, 0)}),
    ):
        handle(session, mouse, event(kind, pos=(box.x + 1, box.y + 1), **more), drawing)
    assert show.share_of(show.shown_s) == pytest.approx(50 / 59, abs=0.01)
    x, y = session.views[0].view.x + 50, session.views[0].view.y + 50
    point(session, x, y)
    zoom_at(session, 2.0, x, y)
    assert session.tip is show
    assert (session.camera, session.packs[0].picked) == (camera, picked)


def test_a_can_that_is_past_its_tip_angle_in_a_show_is_counted_as_tipped(loose):
    session = loose()
    act(session, "next tip")
    show, _ = held(session)
    event, source = show.fall.event, session.pack.source
    here = np.bincount(source.frame.role, minlength=5)

    def shown() -> tuple[int, int, int]:
        w = Writer(1.0)
        roles_panel(session, w)
        numbers = [text.text for text in w.drawing.texts if text.align == "right"]
        tips = tips_of(session, session.pack)
        return int(tips.sum()), int(tips[event.stage].sum()), int(numbers[4])

    at_tip(session, show, show.balance_s - 1e-3)
    before = shown()
    at_tip(session, show, show.balance_s + 1e-3)
    assert shown() == tuple(n + 1 for n in before)
    assert before == (show.number, before[1], int(here[4]))
    act(session, "close")
    assert tips_of(session, session.pack).tolist() == session.pack.source.tips.tolist()
