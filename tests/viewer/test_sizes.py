"""A window of any size, after any sizes before: what is seen depends on the last one alone."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from viewer.session.actions import act

SIZES = st.tuples(st.integers(800, 3840), st.integers(600, 2160))


@pytest.mark.parametrize("action", ["whole line", "zoom stage", "zoom in"])
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(sizes=st.lists(SIZES, min_size=1, max_size=5))
def test_only_the_last_of_several_sizes_counts(make_session, action, sizes):
    through, alone = make_session((1280, 720)), make_session((1280, 720))
    for session in (through, alone):
        act(session, action)
    for size in sizes:
        through.resize(*size)
    alone.resize(*sizes[-1])
    assert through.layout == alone.layout
    assert through.camera.px_per_mm == pytest.approx(alone.camera.px_per_mm, rel=1e-9)
    assert through.camera.u_mm == pytest.approx(alone.camera.u_mm)
    assert through.camera.v_mm == pytest.approx(alone.camera.v_mm)


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    deadline=None,
    max_examples=min(20, settings().max_examples),
)
@given(size=SIZES)
def test_a_window_made_larger_shows_what_one_opened_so_large_does(make_session, size):
    grown, opened = make_session((800, 600)), make_session(size)
    grown.resize(*size)
    assert grown.camera.px_per_mm == pytest.approx(opened.camera.px_per_mm, rel=1e-9)


def test_two_sizes_and_back_leave_the_picture_as_it_was(make_session):
    session = make_session((1280, 720))
    before = session.camera
    for size in ((800, 900), (1900, 600), (1280, 720)):
        session.resize(*size)
    assert session.camera.px_per_mm == pytest.approx(before.px_per_mm)
