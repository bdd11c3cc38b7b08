"""What is seen of a tip: who leans along is who the energy counts, and the room is in the pack."""

from __future__ import annotations

import math

import numpy as np
import pytest

from packsim.line import Kicks
from packsim.passage.fall import fall_of, rocks_of, room_then, state_of
from packsim.passage.frames import frame_of
from packsim.passage.step import start, step
from packsim.passage.tipped import FLAT
from packsim.passage.track import build_track
from packsim.spray.grids import Stretch
from tests.passage.conftest import loaded

ALPHA = 0.09
REACH = 124.0 * math.sin(ALPHA)
"""Weak cans: a gap of 11 mm lets one past its balance."""


@pytest.fixture(scope="module")
def tips(line, can):
    """Some tips of a loose pack that is kicked hard, each with the pack just before and after."""
    kicks = Kicks(rate_per_s=4.0, energy_mJ=0.3, step_mm=0.8, drift_mm_per_s=0.2)
    track = build_track(line(8, (28.0,), kicks=kicks), can)
    track = loaded(track, Stretch(0.0, 500.0, ALPHA, 0.12), Stretch(500.0, 1e3, ALPHA, 0.15))
    rng = np.random.default_rng(3)
    state, found = start(track, rng), []
    for _ in range(400):
        before = state
        state, events = step(state, track, 0.05, rng)
        found += [(before, state, event) for event in events]
    assert len(found) > 20
    return track, found


def test_the_chain_of_a_fall_costs_what_the_kick_needed(tips, can) -> None:
    track, found = tips
    longest = 0
    for before, _, event in found:
        fall = fall_of(before, track, event, can.stance())
        alpha = fall.leaners.balance_rad[:1]
        assert fall.leaners.work_mJ(alpha)[0] == pytest.approx(event.needed_mJ, rel=1e-9)
        assert fall.cans[0] == event.can
        assert fall.swing.over
        longest = max(longest, fall.cans.size)
    assert longest > 1


def test_it_comes_to_rest_where_the_pack_has_it_down(tips, can) -> None:
    track, found = tips
    for before, after, event in found:
        down = after.down_rad[np.searchsorted(after.id, event.can)]
        end = fall_of(before, track, event, can.stance()).swing.lean_rad[-1]
        assert end == pytest.approx(float(down))
        assert end <= FLAT


def test_a_gap_within_the_safe_one_took_others_along_and_a_wider_one_did_not(tips, can) -> None:
    track, found = tips
    for before, _, event in found:
        assert (event.gap_mm, event.safe_mm) == room_then(before, track, event)
        if event.safe_mm == pytest.approx(REACH):  # to another can, not to the guide
            alone = fall_of(before, track, event, can.stance()).cans.size == 1
            assert alone == (event.gap_mm >= event.safe_mm)


def test_the_gap_is_the_distance_to_the_one_in_the_way(tips) -> None:
    """By stepping along: the first place where the disc would touch another or the guide."""
    track, found = tips
    for before, _, event in found[:8]:
        i = int(np.searchsorted(before.id, event.can))
        others = np.delete(np.arange(len(before)), i)
        others = others[~before.tipped[others]]
        if (np.abs(before.place_mm[before.tipped] - before.place_mm[i]) < 200.0).any():
            continue
        steps = np.arange(0.02, 124.0, 0.01)
        path = before.place_mm[i] + steps * np.exp(1j * event.direction_rad)
        vector = (before.place_mm[others] - before.place_mm[i]) * np.exp(-1j * event.direction_rad)
        near = others[(np.abs(vector) < 260.0) & (vector.real > 0.0)]  # ahead of it
        away = np.abs(path[:, None] - before.place_mm[near]) - (
            before.radius_mm[i] + before.radius_mm[near]
        )
        touch = steps[(away < 0.0).any(axis=1)]
        low, high, _ = track.limits_mm(before.station_mm[[i]], before.radius_mm[[i]])
        out = steps[(path.imag < low) | (path.imag > high)]
        first = min([*touch[:1], *out[:1], 124.0])
        if event.safe_mm == pytest.approx(REACH):
            first = min([*touch[:1], 124.0])
        assert event.gap_mm == pytest.approx(first, abs=0.03)


def test_cans_rock_by_the_very_kicks_of_the_step(line, can) -> None:
    kicks = Kicks(rate_per_s=4.0, energy_mJ=0.05, step_mm=0.2, drift_mm_per_s=0.0)
    track = build_track(line(6, (12.0,), kicks=kicks), can)
    rng = np.random.default_rng(5)
    before = start(track, rng)
    for _ in range(60):  # until there is room here and there
        before, _ = step(before, track, 0.05, rng)
    again = np.random.default_rng()
    again.bit_generator.state = rng.bit_generator.state
    after, _ = step(before, track, 0.05, rng)
    everywhere = rocks_of(before, track, can, 0.05, again, (-1e9, 1e9))
    assert everywhere.can.size == int((after.kicks - before.kicks).sum()) > 10
    lean = everywhere.leans_rad(0.005)
    assert (lean > 0.0).any()
    assert (lean <= everywhere.room_rad + 1e-12).all()
    strong = everywhere.kick_mJ < everywhere.energy_mJ
    share = np.minimum(everywhere.kick_mJ / everywhere.energy_mJ, 1.0)
    top = everywhere.balance_rad * (1.0 - np.sqrt(1.0 - share))
    assert (lean[strong] <= 1.02 * top[strong] + 1e-6).all()
    assert (everywhere.leans_rad(2.0) == 0.0).all()


def test_a_stretch_has_the_kicks_that_fall_in_it(line, can) -> None:
    track = build_track(line(6, (12.0,), kicks=Kicks(0.05, 4.0, 0.2, 0.0)), can)
    state = start(track, np.random.default_rng(5))
    halves = [(-1e9, 400.0), (400.0, 1e9)]
    both = [rocks_of(state, track, can, 0.05, np.random.default_rng(1), half) for half in halves]
    whole = rocks_of(state, track, can, 0.05, np.random.default_rng(1), (-1e9, 1e9))
    assert sorted([*both[0].can, *both[1].can]) == sorted(whole.can)


def test_a_frame_holds_what_a_fall_is_looked_up_in(tips, can) -> None:
    """A pack read back from a frame gives the same gap and chain, to the digits of a frame."""
    track, found = tips
    for before, _, event in found[:10]:
        again = state_of(frame_of(before, track), track)
        assert np.array_equal(again.id, before.id)
        assert again.down_rad == pytest.approx(before.down_rad, abs=1e-6)
        assert room_then(again, track, event) == pytest.approx(
            (event.gap_mm, event.safe_mm), abs=0.01
        )
        fall, same = (fall_of(state, track, event, can.stance()) for state in (before, again))
        assert same.cans.tolist() == fall.cans.tolist()
        assert same.swing.lasts_s == pytest.approx(fall.swing.lasts_s, rel=0.02)
