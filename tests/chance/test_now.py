"""What a running pack is expected to tip now, and chances found on the disk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packsim.answers import stage_pack
from packsim.chance import chance_of, kept_chance
from packsim.chance.now import chance_as_seen, tips_per_s
from packsim.line import Scenario, Wires
from packsim.passage.laid import sorted_pack
from packsim.passage.state import State
from packsim.passage.step import start, start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.track import Track, loaded_track
from tests.small_line import small_line, small_stage

WIDTH = 618.0


@pytest.fixture(scope="module")
def line() -> Scenario:
    """Ten lanes that enter at the left guide; along travel the cans are a little apart."""
    stage = small_stage(left=500.0 - WIDTH / 2.0, right=500.0 + WIDTH / 2.0)
    wires = Wires((30.0, 60.0), 600.0, 0.0, 1.3e6)
    kicks = replace(stage.kicks, energy_mJ=0.3)
    made = small_line(
        replace(stage, fill=0.95, kicks=kicks, guides=replace(stage.guides, wires=wires))
    )
    return replace(made, mat=replace(made.mat, pack_enters=0.0))


def a_slice(track: Track, rng: np.random.Generator) -> State:
    return start_slice(track, rng, 300.0)


@pytest.mark.parametrize(("begin", "kick"), [(a_slice, 0.3), (a_slice, 3.0), (start, 3.0)])
def test_a_sample_of_looks_is_the_sum_over_every_can_and_direction(
    line: Scenario, begin: Callable[[Track, np.random.Generator], State], kick: float
) -> None:
    """Of rough kicks most tips are in the centre, where cans give way, but none past an end."""
    (stage,) = line.stages
    rough = replace(stage, kicks=replace(stage.kicks, energy_mJ=kick))
    track = loaded_track(line.with_stages((rough,)), "big")
    rng = np.random.default_rng(3)
    state = begin(track, rng)
    for _ in range(3):
        state, _ = step(state, track, 0.2, rng, tips=False)
    station = state.station_mm
    low, high, _ = track.limits_mm(station, state.radius_mm)
    on_line = (station >= 0.0) & (station < stage.length_mm)
    laid = sorted_pack(
        state.place_mm, state.radius_mm, low, high, state.period_mm, ~on_line, station
    )
    turns = (np.arange(180) + 0.5) * (2.0 * np.pi / 180)
    can = np.repeat(np.flatnonzero(on_line), turns.size)
    towards = np.tile(turns, on_line.sum())
    needed = needed_mJ(laid, track, can, towards, np.zeros(can.size, dtype=np.int64))
    whole = 1.0 * np.exp(-needed / kick).sum() / turns.size  # a kick a second on each can
    looked = [tips_per_s(state, track, rng, 200) for _ in range(40)]
    assert whole > 0.0
    error = float(np.std(looked)) / np.sqrt(len(looked))
    assert float(np.mean(looked)) == pytest.approx(float(whole), abs=4.0 * error + 1e-12)
    assert error < 0.1 * whole


def test_a_chance_is_kept_once_it_was_worked_out(
    line: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PACKSIM_CACHE", str(tmp_path))
    assert kept_chance(line, "big") is None
    found = chance_of(line, "big")
    again = kept_chance(line, "big")
    assert again is not None
    assert again.tips_per_million_interval == found.tips_per_million_interval
    assert again.side == found.side == 0.0
    monkeypatch.setenv("PACKSIM_CACHE", "off")
    assert kept_chance(line, "big") is None


def test_cans_that_stay_where_they_were_seen_tip_as_in_a_passage_that_moves_none(
    line: Scenario,
) -> None:
    """The stage moves no can, so the pack as laid is what its passage looks at all along."""
    (stage,) = line.stages
    kicks = replace(stage.kicks, energy_mJ=3.0, step_mm=0.0, drift_mm_per_s=0.0)
    still = line.with_stages((replace(stage, kicks=kicks),))
    can = still.size("big")
    pack = stage_pack(stage, can, WIDTH, 600.0)
    centres = pack.centres_mm - (0.0, pack.slack_mm / 2.0)  # it enters at the left guide
    seen = chance_as_seen(still, "big", stage.name, replace(pack, centres_mm=centres))
    moving = chance_of(still, "big").stages[0]
    assert seen.tips_per_million > 1.0
    assert seen.tips_per_million == pytest.approx(moving.tips_per_million, rel=0.1)
    assert seen.by_place == pytest.approx(moving.by_place, rel=0.2, abs=1.0)
