"""The pack laid out by direction against the march from can to can."""

from __future__ import annotations

import numpy as np
import pytest

from packsim.chance.directions import turned_pack
from packsim.line import Kicks
from packsim.passage.laid import sorted_pack
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
    assert 0.05 < np.isfinite(marched).mean() < 0.95
