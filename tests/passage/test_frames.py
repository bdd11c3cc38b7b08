from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from packsim.line import Kicks
from packsim.passage.frames import DIRECTIONS, frame_of
from packsim.passage.record import NOT_ASKED, ROLES
from packsim.passage.step import start, start_slice, step
from packsim.passage.tipped import FLAT
from packsim.passage.track import build_track
from packsim.spray.grids import Stretch
from packsim.tipping.lean import own_lean
from tests.passage.conftest import loaded


def running(line, can, slack: float = 12.0, steps: int = 60, **more):
    kicks = Kicks(0.0, 4.0, 0.6, 1.0)
    track = build_track(line(7, (slack,), kicks=kicks, fill=0.96, **more), can)
    rng = np.random.default_rng(2)
    state = start_slice(track, rng, 1200.0)
    for _ in range(steps):
        state, _ = step(state, track, 0.05, rng)
    return state, track


def full_leans(state, track, can):
    """Leans in 360 directions by the full envelope."""
    low, high, _ = track.limits_mm(state.station_mm, state.radius_mm)
    return own_lean(
        np.column_stack((state.x_mm, state.y_mm)),
        can.stance(),
        left_mm=low - 33.0,
        right_mm=high + 33.0,
        wire_heights_mm=(40.0, 90.0),
        period_mm=state.period_mm,
        directions=360,
        refine=False,
    )


def test_own_lean_agrees_with_the_full_envelope(line, can) -> None:
    """Measured here: 0.88 to 0.93 of the worst lean over 360 directions on average over a pack."""
    means = []
    for steps in (40, 80, 120, 160):
        state, track = running(line, can, steps=steps)
        frame, full = frame_of(state, track), full_leans(state, track, can)
        share = frame.lean_rad / np.maximum(full.worst_rad, 1e-9)
        seen = full.worst_rad > 0.002
        assert seen.sum() > 80
        assert (frame.lean_rad - full.worst_rad).max() < 1e-6
        means.append(share[seen].mean())
        # in its own directions it is exact
        same = full.lean_rad[:, :: 360 // DIRECTIONS].max(axis=1)
        assert frame.lean_rad == pytest.approx(same, abs=1e-6)
    assert np.mean(means) > 0.9


def test_cans_that_see_past_the_first_ring_are_asked_again(line, can) -> None:
    track = build_track(line(3, (30.0,), kicks=Kicks(0.0, 0.0), fill=0.6), can)
    state = start_slice(track, np.random.default_rng(0), 1200.0)
    frame, full = frame_of(state, track), full_leans(state, track, can)
    assert (124.0 * np.sin(frame.lean_rad) > 0.7 * 66.0).sum() > 5
    same = full.lean_rad[:, :: 360 // DIRECTIONS].max(axis=1)
    assert frame.lean_rad == pytest.approx(same, abs=1e-6)


def test_roles_follow_the_lean(line, can) -> None:
    state, track = running(line, can)
    frame = frame_of(state, track)
    alpha = can.stance().balance_angle_rad
    lean = frame.lean_rad
    expected = np.select(
        [lean <= 0.1 / 124.0, lean <= alpha / 2, lean < alpha], [0, 1, 2], default=3
    )
    assert np.array_equal(frame.role, expected)
    assert {"some room", "much room"} <= {ROLES[k] for k in np.unique(frame.role)} | {"much room"}


def test_a_close_pack_is_held_and_a_lone_row_is_past_balance(line, can) -> None:
    still = Kicks(0.0, 0.0)
    tight = build_track(line(6, (0.0,), kicks=still), can)
    frame = frame_of(start_slice(tight, np.random.default_rng(0), 800.0), tight)
    assert (frame.role == ROLES.index("snug")).all()
    wide = build_track(line(1, (50.0,), kicks=still, fill=0.3), can)
    frame = frame_of(start_slice(wide, np.random.default_rng(0), 900.0), wide)
    assert (frame.role == ROLES.index("could go over")).all()
    capped = build_track(line(1, (50.0,), kicks=still, fill=0.3, hold_down_mm=128.0), can)
    frame = frame_of(start_slice(capped, np.random.default_rng(0), 900.0), capped)
    assert (frame.role < ROLES.index("could go over")).all()


def test_a_can_is_past_balance_by_the_load_of_its_own_place(line, can) -> None:
    """One row with 20 mm of slack: a can leans some 6° to a guide wherever it is."""
    track = build_track(line(1, (20.0,), kicks=Kicks(0.0, 0.0), fill=0.95), can)
    track = loaded(track, Stretch(0.0, 500.0, 0.05, 0.1), Stretch(500.0, 1e3, 0.6, 0.5))
    frame = frame_of(start(track, np.random.default_rng(0)), track)
    inside = (frame.x_mm > 0.0) & (frame.x_mm < 1000.0)
    past = frame.role == ROLES.index("could go over")
    assert np.array_equal(past[inside], frame.x_mm[inside] < 500.0)
    assert 0 < past[inside].sum() < inside.sum()


def test_a_snug_pack_is_stopped_by_its_guides_from_the_entry_on(line, can) -> None:
    """The grid of the faces has one cell across the entry: half of it is on the line."""
    can = replace(can, diameter_mm=65.7)  # so that no end of a cell is at the entry
    track = build_track(line(8, (3.0,), kicks=Kicks(0.0, 0.0), can=can), can)
    rng = np.random.default_rng(0)
    state, at_entry = start(track, rng), 0
    for _ in range(200):
        state, _ = step(state, track, 0.05, rng)
        frame = frame_of(state, track)
        at_entry += int(((frame.x_mm >= 0.0) & (frame.x_mm < 2.0)).sum())
        on_line = (frame.x_mm >= 0.0) & (frame.x_mm <= track.length_mm)
        assert (frame.role[on_line] < ROLES.index("could go over")).all()
    assert at_entry > 10


def test_a_tipped_can_is_shown_lying_where_it_fell(line, can) -> None:
    state, track = running(line, can)
    down = state.down_rad.copy()
    fell = state.fell_rad.copy()
    down[5], fell[5] = 0.4, 1.0
    frame = frame_of(replace(state, down_rad=down, fell_rad=fell).listed(), track)
    assert ROLES[frame.role[5]] == "tipped"
    assert frame.lean_rad[5] == pytest.approx(0.4)
    assert frame.direction_rad[5] == pytest.approx(1.0)


def test_a_can_that_works_itself_down_leans_as_far_as_the_mat_it_takes_up(line, can) -> None:
    state, track = running(line, can)
    down, span = state.down_rad.copy(), state.span_mm.copy()
    down[5:8], span[5:8] = math.pi / 2.0, (0.0, 52.0, can.height_mm - can.diameter_mm)
    frame = frame_of(replace(state, down_rad=down, span_mm=span).listed(), track)
    lean = frame.lean_rad[5:8].astype(float)
    assert lean[0] == pytest.approx(can.stance().balance_angle_rad, rel=1e-5)
    assert can.diameter_mm * math.cos(lean[1]) + can.height_mm * math.sin(lean[1]) == (
        pytest.approx(can.diameter_mm + 52.0, rel=1e-5)
    )
    assert lean[2] == pytest.approx(math.pi / 2.0)


def test_frames_are_compact_and_place_cans_on_the_line(line, can) -> None:
    track = build_track(line(5, (6.0,)), can)
    rng = np.random.default_rng(0)
    state = start(track, rng)
    for _ in range(10):
        state, _ = step(state, track, 0.05, rng)
    frame = frame_of(state, track)
    assert frame.nbytes == 25 * len(frame)
    assert frame.x_mm == pytest.approx(state.x_mm + state.travel_mm, abs=1e-3)
    low, high = -5 * 66.0 - 200, 1000 + 5 * 66.0
    assert low < frame.x_mm.min() < 0 < 1000 < frame.x_mm.max() < high
    assert (np.abs(frame.direction_rad) < 2 * math.pi).all()


@pytest.mark.parametrize("tipped", [False, True])
def test_leans_of_a_stretch_are_those_of_the_whole_line(line, can, tipped) -> None:
    track = build_track(line(3, (30.0,), fill=0.8), can)
    state = start(track, np.random.default_rng(0))
    if tipped:
        down = np.where(np.arange(len(state)) % 7 == 0, FLAT, 0.0)
        span = np.where(down > 0.0, 40.0, 0.0)
        state = replace(state, down_rad=down, fell_rad=state.fell_rad + 0.4, span_mm=span).listed()
    whole, middle = frame_of(state, track), float(np.median(state.station_mm))
    low, high = middle - 60.0, middle + 60.0
    part = frame_of(state, track, (low, high))
    asked = (state.station_mm >= low) & (state.station_mm <= high)
    assert 3 < asked.sum() < 0.7 * len(state)
    for name in ("x_mm", "y_mm", "radius_mm", "id"):
        assert (getattr(part, name) == getattr(whole, name)).all()
    for name in ("lean_rad", "direction_rad", "role"):
        assert (getattr(part, name)[asked] == getattr(whole, name)[asked]).all()
    standing = ~asked & ~state.tipped
    assert np.isnan(part.lean_rad[standing]).all()
    assert (part.role[standing] == NOT_ASKED).all()
    assert (part.role[state.tipped] == whole.role[state.tipped]).all()
