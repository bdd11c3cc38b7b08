"""In the side view, too, a state and a line are told by more than their colour."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from packsim.passage import ROLES
from viewer.line import index_of
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box
from viewer.screen.marks import state_mark
from viewer.views.elevation import elevation_panel
from viewer.views.side_scene import Body, scene_now
from viewer.views.side_view import SideView

CLIP = Box(0, 0, 400, 400)


def shape(items) -> tuple:
    """What a mark is without its colour: kinds of shapes with their points, to a pixel."""
    return tuple((type(item).__name__, np.rint(np.array(item.points)).tolist()) for item in items)


def test_every_state_has_a_mark_of_its_own_and_the_snug_none():
    marks = [state_mark(state, (50.0, 50.0), 20.0, 0.0, CLIP) for state in ROLES]
    assert marks[0] == []
    shapes = [str(shape(mark)) for mark in marks]
    assert len(set(shapes)) == len(ROLES)
    for state, mark in zip(ROLES, marks, strict=True):
        assert {item.role for item in mark} <= {f"on {state}"}
        for item in mark:
            assert all(math.hypot(x - 50.0, y - 50.0) <= 20.0 for x, y in item.points)


@pytest.mark.parametrize("state", ["much room", "could go over"])
def test_a_mark_that_points_turns_with_the_lean(state):
    right, left = (state_mark(state, (0.0, 0.0), 20.0, turn, CLIP) for turn in (0.0, math.pi))
    ahead = [max(x for item in mark for x, _ in item.points) for mark in (right, left)]
    assert ahead[0] == pytest.approx(15.0, abs=1.0)
    assert ahead[1] < ahead[0]


def view_of(session, state: str) -> list:
    source = session.pack.source
    i = index_of(source.frame, session.shown_can(session.pack))
    scene = replace(scene_now(source, i, {}), others=(), room_rad=0.05, balance_rad=0.2)
    radius = source.loaded.can.diameter_mm / 2.0
    w = Writer(1.0)
    SideView(w, CLIP, replace(scene, body=Body(radius, 0.0, state))).draw()
    return list(w.drawing.items)


def test_a_can_in_the_side_view_wears_the_mark_of_its_state(make_session):
    session = make_session()
    bare = len(view_of(session, "snug"))
    for state in ROLES[1:4]:
        inks = [item for item in view_of(session, state) if item.role == f"on {state}"]
        assert len(inks) > 2, state  # more than the cross of its centre of gravity
        assert len(view_of(session, state)) > bare


def test_the_outlines_differ_by_thickness_and_mark(make_session):
    items = view_of(make_session(), "some room")
    room = [item for item in items if item.role == "lean"]
    tip = [item for item in items if item.role == "balance"]
    assert max(item.width_px for item in room) > max(item.width_px for item in tip)
    assert sum(isinstance(item, Polygon) and item.filled for item in room) == 1  # a dot
    assert sum(isinstance(item, Polyline) and item.dash_px == 0 for item in tip) == 2  # a cross


def test_the_legend_shows_each_line_as_it_is_drawn(make_session):
    session = make_session()
    w = Writer(1.0)
    elevation_panel(session, w)
    right = session.layout.elevation.right - 120
    keys = [item for item in w.drawing.items if isinstance(item, (Polygon, Polyline))]
    keys = [item for item in keys if min(x for x, _ in item.points) >= right]
    assert {"lean", "balance", "can line", "wire", "hold-down"} <= {item.role for item in keys}
    dashed = {item.role for item in keys if isinstance(item, Polyline) and item.dash_px}
    assert dashed == {"balance"}
