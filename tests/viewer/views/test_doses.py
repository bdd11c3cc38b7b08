"""Doses beside a plan and headers under it, against the check of `packsim nozzles check`."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from packsim.headers import check_headers
from packsim.scenario.lesson_tables import ChangesRow
from viewer.lessons.lesson import changed
from viewer.line import LoadedLine
from viewer.screen.drawing import Fill, Polygon, Text
from viewer.screen.layout import RULER_PX
from viewer.session.actions import act
from viewer.views.doses import header_lines
from viewer.views.whole_window import whole_window


def _drawn(session, kind):
    return [item for item in whole_window(session).items if isinstance(item, kind)]


def _bars(session):
    """Bars of each column, from the upper to the lower one; their strip lies right of the plan."""
    edge = session.views[0].view.right
    right = session.layout.canvas.right
    fills = [f.box for f in _drawn(session, Fill) if f.role in ("pool", "alarm")]
    fills = [box for box in fills if edge < box.x and box.right < right]
    starts = sorted({box.x for box in fills})
    return [[box for box in fills if box.x == x] for x in starts]


def _with_headers(loaded, headers):
    first, *others = loaded.scenario.stages
    stages = (replace(first, headers=tuple(headers)), *others)
    return LoadedLine(loaded.scenario.with_stages(stages), loaded.size)


@pytest.fixture
def sprayed(loaded):
    """Headers on both sides that stand off the middle, so that one lane alone is the worst."""
    header = loaded.scenario.stages[0].headers[0]
    off = replace(header, first_mm=header.first_mm + 9.0)
    return _with_headers(
        loaded, [replace(off, side="below", mat_distance_mm=120.0), replace(off, side="above")]
    )


@pytest.fixture
def check(sprayed):
    stage = sprayed.scenario.stages[0].name
    (found,) = check_headers(sprayed.scenario, (stage,), (sprayed.size,))
    return found


def test_every_lane_has_a_bar_as_long_as_its_dose_where_its_cans_are(make_session, sprayed, check):
    session = make_session((1920, 1080), at=sprayed)
    columns = _bars(session)
    doses = [d for d in check.doses if d.place in ("inside", "top")]
    assert [d.place for d in doses] == ["inside", "top"]
    assert len(columns) == 2
    for column, dose in zip(columns, doses, strict=True):
        long = np.array([box.w for box in column])
        assert long == pytest.approx(dose.by_lane_mL / dose.by_lane_mL.max() * long.max(), abs=1.0)
        middle = [box.y + box.h / 2.0 for box in column]
        lanes = session.views[0].to_px(0.0, check.at.lines_mm)[1]
        assert middle == pytest.approx(lanes, abs=1.0)
        assert all(a.bottom <= b.y for a, b in pairwise(column))


def test_the_lane_that_gets_least_is_marked_and_its_dose_told(make_session, sprayed, check):
    session = make_session((1920, 1080), at=sprayed)
    texts = [text.text for text in _drawn(session, Text)]
    edge = session.views[0].view.right
    marks = [
        shape.points[0]
        for shape in _drawn(session, Polygon)
        if shape.role == "alarm" and shape.points[0][0] > edge
    ]
    doses = [d for d in check.doses if d.place in ("inside", "top")]
    for dose, mark in zip(doses, marks, strict=True):
        worst = int(dose.by_lane_mL.argmin())
        lane = session.views[0].point_px(0.0, float(check.at.lines_mm[worst]))[1]
        assert mark[1] == pytest.approx(lane)
        least = dose.by_lane_mL.min()
        assert f"least {least:.2f}" in texts
        assert f"{least / (dose.by_lane_mL @ check.at.shares):.2f} of mean" in texts


def test_headers_are_told_with_what_they_take(make_session, sprayed, check):
    two = _with_headers(sprayed, sprayed.scenario.stages[0].headers * 2)
    for line, number in ((sprayed, 1), (two, 2)):
        session = make_session(at=line)
        told = header_lines(session.pack.source.answers[0], session.display)
        assert set(told) <= {text.text for text in _drawn(session, Text)}
        for side, row in zip(check.sides, told, strict=True):
            flow = number * sum(work.flow_L_per_min for work in side.work)
            pitch = side.headers[0].pitch_mm
            assert f"{side.side}: {number} × {side.headers[0].count} nozzles" in row
            assert row.endswith(f"pitch {pitch:.1f} mm, {flow:.1f} L/min")


def test_a_header_in_the_cans_sprays_nothing(make_session, sprayed):
    below, above = sprayed.scenario.stages[0].headers
    low = _with_headers(sprayed, [below, replace(above, mat_distance_mm=50.0)])
    session = make_session(at=low)
    above = header_lines(session.pack.source.answers[0], session.display)[0]
    assert above.endswith("above: 1 in the way of the cans")
    assert len(_bars(session)) == 1


def test_a_stage_without_headers_says_so(make_session, loaded):
    session = make_session(at=_with_headers(loaded, []))
    texts = [text.text for text in _drawn(session, Text)]
    assert f"{loaded.scenario.stages[0].name}: no header" in texts
    assert {"none inside", "none on top"} <= set(texts)


def test_without_sprays_the_plan_has_the_room_and_keeps_what_it_shows(make_session):
    session = make_session()
    before = session.views[0].spans_mm()
    act(session, "sprays")
    assert session.views[0].view.right == session.layout.canvas.right
    assert not _bars(session)
    assert session.views[0].spans_mm()[:2] == pytest.approx(before[:2])
    act(session, "sprays")
    assert session.views[0].spans_mm() == pytest.approx(before)


def test_two_plans_in_a_small_window_have_its_room_to_themselves(make_session):
    """With doses and headers beside them the plans were a finger high at 1024 by 600."""
    session = make_session((1024, 600))
    assert session.doses
    act(session, "beside")
    assert not session.doses
    for view, box in zip(session.views, session.boxes, strict=True):
        assert view.view.w == box.w
        assert view.view.h == box.h - session.layout.px(RULER_PX)
    assert not any("nozzles, pitch" in text.text for text in whole_window(session).texts)
    session.resize(1280, 720)
    assert session.doses


def test_bars_of_two_packs_have_one_scale(make_session, sprayed):
    session = make_session((1920, 1080), at=sprayed)
    session.set_beside(sprayed)
    header = sprayed.scenario.stages[0].headers
    hard = [replace(each, pressure_MPa=4.0 * each.pressure_MPa) for each in header]
    session.packs[1].source.retune(_with_headers(sprayed, hard), restart=False)
    for column in _bars(session):
        upper, lower = np.array([box.w for box in column]).reshape(2, -1)
        # flow goes with the root of the pressure
        assert lower == pytest.approx(2.0 * upper, abs=2.0)


def test_lanes_beyond_every_nozzle_get_nothing_and_are_drawn(make_session, loaded):
    far = changed(loaded, ChangesRow(clear_width="1000 mm"), 0)
    session = make_session(at=far)
    said = [text.text for text in _drawn(session, Text)]
    assert "0.00 of mean" in said
