"""What a tipped can does to those around it: by hand, by an independent section, and in a pack."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from packsim.line import Kicks
from packsim.pack.near import list_near
from packsim.passage.frames import frame_of
from packsim.passage.going_down import stopped_rad
from packsim.passage.laid import laid_pack
from packsim.passage.record import ROLES
from packsim.passage.relax import TOLERANCE_MM
from packsim.passage.state import State, no_counts
from packsim.passage.step import start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.tipped import FLAT, GONE, down_rad, lying_discs, made_rigid, room_beside_mm
from packsim.passage.track import build_track
from packsim.spray.grids import Stretch
from tests.passage.conftest import CAN, loaded

D, R, H = 66.0, 33.0, 124.0
ACROSS = np.array([math.pi / 2.0])


def row_of(gaps: list[float], down: list[float], fell: float = math.pi / 2.0) -> State:
    """A row straight across from the left guide; gaps[0] is at that guide."""
    n = len(down)
    place = 500.0 + 1j * (R + np.cumsum(gaps[:n]) + D * np.arange(n))
    radius = np.full(n, R)
    state = State(
        place_mm=place, radius_mm=radius, id=np.arange(n), down_rad=np.array(down),
        fell_rad=np.full(n, fell), near=list_near(place, radius), kicks=no_counts(1),
        tips=no_counts(1), cans_in=n, span_mm=np.where(np.array(down) == FLAT, H - D, 0.0),
    )  # fmt: skip
    return state.listed()


def laid_row(gaps: list[float], down: list[float], fell: float = math.pi / 2.0):
    low, high = np.full(len(down), R), np.full(len(down), len(down) * D + sum(gaps) - R)
    return laid_pack(row_of(gaps, down, fell), H, low, high)


def room_rad(gap: float, lean: float) -> float:
    """Lean at which a can meets one that leans away by ``lean`` in front of it."""
    laid = laid_row([0.0, gap, 50.0], [0.0, lean])
    travel, _ = laid.free_travel_mm(np.array([0]), np.array([1j]), np.array([H]))
    return float(np.arcsin(min(travel[0] / H, 1.0)))


@given(lean=st.floats(0.02, 0.7))
def test_a_can_behind_a_leaning_one_has_half_its_lean(lean: float) -> None:
    assert room_rad(0.0, lean) == pytest.approx(lean / 2.0, rel=1e-9)


def section(foot: float, lean: float) -> shapely.Polygon:
    """A can in section that leans to the right by ``lean`` about its foot edge at ``foot``."""
    c, s = math.cos(lean), math.sin(lean)
    corners = [(0.0, 0.0), (-D, 0.0), (-D, H), (0.0, H)]
    return shapely.Polygon([(foot + x * c + z * s, -x * s + z * c) for x, z in corners])


@given(gap=st.floats(0.0, 12.0), lean=st.floats(0.05, 0.6))
def test_the_room_behind_a_leaning_can_is_where_its_section_is_met(gap, lean) -> None:
    front, low, high = section(D + gap, lean), 0.0, 1.2
    for _ in range(40):
        middle = (low + high) / 2.0
        crossing = section(0.0, middle).intersection(front).area > 1e-9
        low, high = (low, middle) if crossing else (middle, high)
    assert room_rad(gap, lean) == pytest.approx(low, abs=2e-3)


def test_by_hand_an_edge_can_on_its_wire_lets_one_follower_over_and_no_more(line) -> None:
    """14.6° on its wire leave 7.3°, beyond a balance of 6.1°; a third has 3.6° and stands."""
    track = loaded(build_track(line(), CAN), Stretch(0.0, 1000.0, math.radians(6.1), 0.1))
    wire = math.radians(14.6)
    gap = 90.0 * math.tan(wire)
    standing = [0.0, 0.0, 0.0]
    stop = stopped_rad(
        laid_row([0.0, 0.0, 0.0, gap], standing), track, np.array([2]), ACROSS, np.array([0])
    )
    assert stop[0] == pytest.approx(wire, rel=1e-9)
    first = laid_row([0.0, 0.0, 0.0, gap], [0.0, 0.0, wire])
    follower = stopped_rad(first, track, np.array([1]), ACROSS, np.array([0]))
    assert math.degrees(follower[0]) == pytest.approx(7.3, abs=0.01)
    assert np.isfinite(needed_mJ(first, track, np.array([1]), ACROSS, np.array([0]))[0])
    both = laid_row([0.0, 0.0, 0.0, gap], [0.0, follower[0], wire])
    third = stopped_rad(both, track, np.array([0]), ACROSS, np.array([0]))
    assert math.degrees(third[0]) == pytest.approx(3.65, abs=0.01)
    assert np.isinf(needed_mJ(both, track, np.array([0]), ACROSS, np.array([0]))[0])


def test_a_can_in_front_of_a_leaning_one_cannot_lean_back_into_its_top() -> None:
    laid = laid_row([0.0, 10.0, 50.0], [math.asin(10.0 / H), 0.0])
    back, _ = laid.free_travel_mm(np.array([1]), np.array([-1j]), np.array([H]))
    forth, _ = laid.free_travel_mm(np.array([1]), np.array([1j]), np.array([H]))
    assert back[0] == pytest.approx(0.0, abs=1e-9)
    assert np.isinf(forth[0])


@given(
    spot=st.tuples(st.floats(-80, 80), st.floats(-80, 80)),
    lean=st.floats(0.01, 1.2),
    fell=st.floats(-math.pi, math.pi),
    turn=st.floats(-math.pi, math.pi),
)
def test_room_beside_a_tipped_can_turns_with_the_scene_and_mirrors(spot, lean, fell, turn) -> None:
    vector = complex(*spot)
    if abs(vector) < D:
        return

    def room(v: complex, f: float) -> float:
        aside = D * D - v.imag**2
        t = v.real - math.sqrt(aside) if aside > 0 and v.real > 0 else math.inf
        return room_beside_mm(v, max(t, 0.0), cmath.exp(1j * f), lean, R, H)

    assert room(vector, fell) >= 0.0
    assert room(vector, fell) == pytest.approx(room(vector.conjugate(), -fell), rel=1e-6, abs=1e-6)
    assert room(vector, fell + 2.0 * math.pi) == pytest.approx(room(vector, fell), rel=1e-6)


def test_a_can_gone_leaves_its_place_free_and_a_lying_one_is_met_at_its_side() -> None:
    free = laid_row([0.0, 0.0, 0.0], [0.0, GONE, 0.0])
    travel, met = free.free_travel_mm(np.array([0]), np.array([1j]), np.array([H]))
    assert (travel[0], met[0]) == (pytest.approx(D), 2)
    lying = laid_row([0.0, 8.0], [0.0, FLAT], fell=0.0)
    travel, met = lying.free_travel_mm(np.array([0]), np.array([1j]), np.array([H]))
    assert travel[0] == pytest.approx(H * math.sin(math.atan(8.0 / R)))
    assert lying.closed[met[0]]


def test_stopped_short_of_balance_a_tipped_can_stays_at_its_balance_angle() -> None:
    assert down_rad("leans", 0.1, 0.3) == 0.3
    assert down_rad("leans", 0.5, 0.3) == 0.5
    assert down_rad("lies across", 0.1, 0.3) == FLAT
    assert down_rad("leaves a hole", 0.1, 0.3) == GONE


@given(
    turn=st.floats(-3.0, 3.0),
    moved=st.complex_numbers(max_magnitude=20.0, allow_nan=False, allow_infinity=False),
)
def test_a_rigid_body_stays_what_it_is_and_a_rigid_move_is_found(
    turn: float, moved: complex
) -> None:
    place, down, fell = np.array([100 + 50j, 300 + 0j]), np.array([FLAT, 0.0]), np.array([0.3, 0.0])
    span = np.array([H - D, 0.0])
    more, owner = lying_discs(place, down, fell, span)
    discs = np.append(place, more)
    back, angle = made_rigid(discs, owner, fell, span)
    assert np.allclose(back, discs)
    assert np.allclose(angle, fell)
    carried = discs.copy()
    body = np.append(0, np.arange(2, discs.size))
    carried[body] = (discs[body] - discs[0]) * np.exp(1j * turn) + discs[0] + moved
    back, angle = made_rigid(carried, owner, fell, span)
    assert np.allclose(back, carried, atol=1e-6)
    assert math.cos(angle[0] - 0.3 - turn) == pytest.approx(1.0)


def test_a_tipped_can_sinks_where_there_is_room_and_is_propped_up_where_not(line) -> None:
    """Alone between wide guides it lies in its full length; in a full lane it finds no room."""
    track = build_track(line(2, (70.0,), kicks=Kicks(0.0, 0.0), tipped="lies across"), CAN)
    low, whole = float(track.low_mm[0]), H - D
    for gap, expected in ((100.0, whole), (0.0, 0.0), (5.0, 30.0)):
        n = 6
        place = 500.0 + (D + gap) * np.arange(n) + 1j * low
        radius = np.full(n, R)
        down = np.where(np.arange(n) == 2, FLAT, 0.0)
        state = State(
            place_mm=place, radius_mm=radius, id=np.arange(n), down_rad=down, fell_rad=np.zeros(n),
            span_mm=np.zeros(n), near=list_near(place, radius), kicks=no_counts(1),
            tips=no_counts(1), period_mm=n * (D + gap), cans_in=n,
        ).listed()  # fmt: skip
        narrow = replace(track, high_mm=track.low_mm)  # a single lane without any way out
        for _ in range(160):
            state, _ = step(state, narrow, 0.05, np.random.default_rng(1))
        assert state.span_mm[2] == pytest.approx(expected, abs=4.0)


@pytest.mark.parametrize("way", ["leans", "leaves a hole", "lies across"])
def test_in_a_pack_tipped_cans_are_kept_counted_and_nobody_overlaps(line, way: str) -> None:
    kicks = Kicks(3.0, 4.0, 0.3, 2.0)
    track = build_track(line(6, (40.0,), kicks=kicks, fill=0.9, tipped=way), CAN)
    rng = np.random.default_rng(8)
    state = start_slice(track, rng, 1200.0)
    count, events = len(state), []
    while len(events) < 3:
        state, new = step(state, track, 0.05, rng)
        events += new
    none = np.zeros(1)
    shaking = replace(track.shaking, under_per_s=none, between_per_s=none)
    quiet = replace(track, shaking=shaking)
    for _ in range(30):
        state, _ = step(state, quiet, 0.05, rng)
    assert len(state) == count
    assert state.tipped.sum() == len(events) == state.tips.sum()
    assert state.overlap_mm <= 10.0 * TOLERANCE_MM
    discs, owner = state.discs_mm()
    gone = state.down_rad == GONE
    assert gone.any() == (way == "leaves a hole")
    assert (owner.size > 0) == (way == "lies across")
    there = np.append(~gone, np.ones(owner.size, dtype=bool))
    body = np.append(np.arange(count), owner)[there]
    away = discs[there][:, None] - discs[there][None, :]
    away = away - np.rint(away.real / state.period_mm) * state.period_mm
    apart = np.abs(away)[body[:, None] != body[None, :]]
    assert apart.min() > D - 10.0 * TOLERANCE_MM
    low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
    assert (discs.imag >= low[0] - 0.05).all()
    assert (discs.imag <= high[0] + 0.05).all()
    frame = frame_of(state, track)
    assert (frame.role == ROLES.index("tipped")).sum() == len(events)
    assert (frame.lean_rad[frame.role == ROLES.index("tipped")] > 0.0).all()


def test_a_can_that_tips_beside_a_tipped_one_says_so(line) -> None:
    kicks = Kicks(3.0, 4.0, 0.3, 2.0)
    track = build_track(line(6, (40.0,), kicks=kicks, fill=0.9), CAN)
    rng = np.random.default_rng(8)
    state, events, down = start_slice(track, rng, 1200.0), [], {}
    for _ in range(60):
        before = state
        state, new = step(state, track, 0.05, rng)
        for event in new:
            here = before.place_mm[before.id == event.can][0]
            near = [
                can for can, place in down.items()
                if min(abs(here - place + k * before.period_mm) for k in (-1, 0, 1)) < 1.2 * D
            ]  # fmt: skip
            assert (event.beside >= 0) == bool(near)
            assert event.beside == min(near, default=-1)
            assert event.mat_mm == pytest.approx(here.real)
        tipped = np.flatnonzero(state.tipped)
        down = dict(zip(state.id[tipped].tolist(), state.place_mm[tipped], strict=True))
        events += new
    assert any(event.beside >= 0 for event in events)
