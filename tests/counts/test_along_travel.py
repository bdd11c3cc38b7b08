"""Room along travel: by the formula and in a line full of cans."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from packsim.counts.along_travel import (
    LEAST_SLICE_MM,
    kept_mm,
    opened_mm,
    pushed,
    room_along,
)
from packsim.line import Kicks
from packsim.passage.step import start, step
from packsim.passage.track import build_track

KICKS = Kicks(0.05, 2.0, 0.3, 0.0)


def test_opened_by_hand(line, can) -> None:
    """E|n|^1.5 = 0.8600 for a normal n; one stage gives three times what is open at its start."""
    push = math.sqrt(2.0) / 3.0 * 0.8600 * 2.0 * 0.3**1.5 * math.sqrt(66.0)
    by_hand = 3.0 * 66.0 * (push / (3.0 * 90.0 * 1500.0)) ** (2.0 / 3.0)
    assert opened_mm(line(4, (20.0,), length=1500.0, kicks=KICKS), can) == pytest.approx(
        by_hand, rel=1e-4
    )


def test_a_line_cut_in_stages_opens_the_same_and_one_without_kicks_nothing(line, can) -> None:
    whole = opened_mm(line(4, (20.0,), length=1500.0, kicks=KICKS), can)
    cut = opened_mm(line(4, (20.0,) * 3, length=500.0, kicks=KICKS), can)
    assert cut == pytest.approx(whole, rel=1e-9)
    assert opened_mm(line(4, (20.0,), kicks=replace(KICKS, step_mm=0.0)), can) == 0.0
    assert opened_mm(line(4, (20.0,), kicks=replace(KICKS, rate_per_s=0.0)), can) == 0.0


@pytest.mark.parametrize("fill", [0.97, 0.99, 0.999])
def test_fill_keeps_room(line, can, fill) -> None:
    room = room_along(line(4, (46.0,), kicks=KICKS, fill=fill), can.name)
    assert room.kept_mm == pytest.approx(can.diameter_mm * (1.0 / fill - 1.0), rel=1e-9)
    assert not room.slices_hold


def test_narrower_cans_leave_room_in_some_lanes(tolerant_can) -> None:
    n = 12
    size = replace(tolerant_can, diameter_mm=LEAST_SLICE_MM / n, dome_rim_radius_mm=20.0)
    tol = size.diameter_tol_mm
    short = -np.random.default_rng(1).uniform(-tol, tol, (100_000, n)).mean(axis=1)
    assert kept_mm(size, 1.0) == pytest.approx(short.clip(0.0).mean(), rel=0.03)


def test_a_pack_that_cannot_tip_is_not_held_by_slices(line, can) -> None:
    room = room_along(line(4, (1.0,), kicks=KICKS), can.name)
    assert (room.can_tip, room.kept_mm, room.slices_hold) == (False, 0.0, False)
    assert room.opened_mm > 0.0


@pytest.mark.parametrize(
    ("enters", "drift", "by_hand"),
    [
        (1.0, 0.0, 18.0),  # against the right guide, which steps in by (46 - 10) / 2
        (0.5, 0.0, 0.0),
        (0.5, 0.9, 5.0),  # 13 mm from the right guide after stage 1
        (0.0, 0.0, 18.0),
        (0.0, 9.0, 18.0),  # drifts to the right guide and is pushed by that
    ],
)
def test_what_guides_push_by_hand(line, can, enters, drift, by_hand) -> None:
    pack = line(4, (46.0, 10.0, 46.0), kicks=replace(KICKS, drift_mm_per_s=drift), fill=0.99)
    pack = replace(pack, mat=replace(pack.mat, pack_enters=enters))
    assert pushed(pack, can) == (pytest.approx(by_hand), "stage 2" if by_hand else "")
    assert room_along(pack, can.name).cans_close_up == (by_hand > 10.0 * 66.0 / 99.0)


@pytest.mark.slow
def test_a_line_full_of_cans_opens_what_the_formula_says(line, can) -> None:
    """Cans of a lane, one behind the other, by their mean distance along travel."""
    pack = line(4, (46.0,), length=1500.0, kicks=KICKS, state="slack")
    track, rng, apart = build_track(pack, can), np.random.default_rng(1), []
    lane = np.round(track.infeed.place_mm.imag, 1)
    state = start(track, rng)
    while state.time_s < 50.0:
        state, _ = step(state, track, 0.05, rng, tips=False)
        if state.time_s > 20.0 and state.steps % 20 == 0:
            for one in np.unique(lane):
                x = np.sort(state.x_mm[lane[state.id % lane.size] == one]) + state.travel_mm
                inside = x[(x > 0.0) & (x < track.length_mm)]
                apart.append(np.diff(inside).mean() - can.diameter_mm)
    assert 0.5 < np.mean(apart) / opened_mm(pack, can) < 2.0
