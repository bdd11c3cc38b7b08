"""The pack laid out by direction against the march from can to can."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.chance import directions
from packsim.chance.directions import turned_pack
from packsim.line import Kicks
from packsim.passage.laid import over_guide_mm, sorted_pack
from packsim.passage.step import start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.track import build_track


def test_the_tables_say_what_the_march_says(line, can) -> None:
    track = build_track(line(5, (50.0,), kicks=Kicks(0.05, 4.0, 4.0), fill=0.9), can)
    rng = np.random.default_rng(4)
    state = start_slice(track, rng, 700.0)
    for _ in range(60):
        state, events = step(state, track, 0.1, rng, tips=False)
        assert events == ()
    station = state.station_mm
    low, high, _ = track.limits_mm(station, state.radius_mm)
    pack = sorted_pack(state.place_mm, state.radius_mm, low, high, state.period_mm)
    turn, n = np.arange(6) + 0.3, len(state)
    asked = np.repeat(turn, n)
    stage = np.zeros(asked.size, dtype=int)
    marched = needed_mJ(pack, track, np.tile(np.arange(n), 6), asked, stage, 5.0)
    turned = turned_pack(pack, track, turn, station[None])
    assert needed_mJ(turned, track, np.arange(6 * n), asked, stage, 5.0) == pytest.approx(marched)
    # budgets of their own, some just enough: a march that is ended early would have ended dearer
    whole = needed_mJ(turned, track, np.arange(6 * n), asked, stage)
    for share in (0.5, 1.0 - 1e-6, 1.0, 2.0):
        budget = np.where(np.isfinite(whole), share * whole, 20.0)
        found = needed_mJ(turned, track, np.arange(6 * n), asked, stage, budget)
        assert np.array_equal(found, np.where(whole <= budget, whole, math.inf))
    assert 0.05 < np.isfinite(marched).mean() < 0.95


@given(seed=st.integers(0, 10_000), count=st.integers(1, 8), wire=st.sampled_from([40.0, 90.0]))
def test_tops_give_what_their_chain_gives_or_the_guide(seed: int, count: int, wire: float) -> None:
    """Can by can: its free travel and that of whom it meets; over a wire H g / (z |sin|)."""
    rng = np.random.default_rng(seed)
    height, turn = 120.0, np.array([0.4, 2.0, 4.0])
    met = np.array([[rng.integers(i + 1, count + 1) for i in range(count)] for _ in turn])
    order = rng.permutation(count)  # whoever is met may have any number
    names = np.append(np.argsort(order), count)
    met = names[met][:, order]
    pack = SimpleNamespace(
        place_mm=1j * rng.uniform(0.0, 60.0, count),
        low_mm=np.zeros(count),
        high_mm=np.full(count, 60.0),
        guide=np.arange(count, dtype=np.uint32),
        travel_mm=rng.uniform(0.0, 9.0, 3 * count),
        met=met.ravel(),
        closed=rng.random(count) < 0.2,
    )
    found = directions._give(pack, np.sin(turn), np.array([[wire]]), height).reshape(3, count)

    def gives(j: int, i: int) -> float:
        most = pack.travel_mm[j * count + i]
        if met[j, i] < count and not pack.closed[met[j, i]]:
            most += gives(j, met[j, i])
        across = math.sin(turn[j])
        gap = pack.high_mm[i] - pack.place_mm[i].imag if across > 0.0 else pack.place_mm[i].imag
        if gap < most * abs(across):
            over = over_guide_mm(gap, abs(across), np.array([wire]), height)
            most = min(most, over) if over < height else most
        return float(most)

    for j in range(3):
        assert found[j] == pytest.approx([gives(j, i) for i in range(count)])
