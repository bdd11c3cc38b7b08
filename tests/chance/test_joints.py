"""A kick at the joint of two mats: counted as often as expected, whatever the other kicks are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from packsim.chance.keep import Passage
from packsim.chance.line_chance import LineChance, _settled
from packsim.chance.sample import Plan
from packsim.counts.intervals import poisson_interval
from packsim.line import Kicks, Mat, Scenario
from packsim.passage.kicks import draw_kicks
from packsim.passage.run import run_passage
from packsim.passage.track import Track, build_track
from tests.passage.conftest import CAN, lane_width, make_stage


def jolted(energy: float, kick: float = 0.0) -> Track:
    kicks = Kicks(kick, 1.0, 0.3)
    stages = tuple(
        make_stage(
            name,
            length=900.0,
            width=lane_width(4) + 80.0,
            fill=0.9,
            kicks=kicks,
            joint_kick_mJ=joint,
        )
        for name, joint in (("before", 0.0), ("behind", energy))
    )
    return build_track(Scenario("joint", "", Mat(1600.0, 90.0), stages, (CAN,), CAN.name), CAN)


def chance(track: Track, kick: float, accuracy: float = 1.0) -> LineChance:
    kicks = dict.fromkeys(track.stages, kick)
    return _settled(Passage.along(track), 3, kicks, accuracy, Plan(cans=60), None)


@pytest.mark.parametrize("slice_mm", [600.0, None])
def test_every_can_gets_the_kick_of_a_joint_once(slice_mm: float | None) -> None:
    track, none = jolted(0.2), np.zeros(2)
    shaking = replace(track.shaking, under_per_s=none, between_per_s=none)
    quiet = replace(track, shaking=shaking)
    rng, given = np.random.default_rng(1), []
    station = np.arange(-200.0, 0.0, 7.0) if slice_mm is None else np.zeros(9)
    for _ in range(450):
        stage = track.stage_at[track.cell(station)]
        rate = quiet.shaking.rate_per_s(stage, station)
        ladder = np.arange(station.size + 1), stage, np.append(0.0, np.cumsum(rate))
        kicks = draw_kicks(quiet, ladder, station, np.zeros(station.size, bool), 0.05, rng)
        given += list(zip(kicks.can.tolist(), kicks.stage.tolist(), strict=True))
        assert not kicks.move_mm.any()
        station = station + track.speed_mm_per_s * 0.05
    assert sorted(given) == [(can, 1) for can in range(station.size)]


def test_tips_at_a_joint_are_counted_as_often_as_expected() -> None:
    track = jolted(6.0)
    expected = chance(track, 0.0, 0.1)
    runs = [run_passage(track, seed=s, slice_mm=2500.0, keep_frames=False) for s in range(6)]
    cans, tips = sum(run.counted for run in runs), sum(run.tipped[1].sum() for run in runs)
    assert sum(run.tipped[0].sum() for run in runs) == 0
    low, high = (1e6 * end / cans for end in poisson_interval(int(tips), 0.999))
    assert tips > 20
    assert low < expected.stages[1].interval[1]
    assert high > expected.stages[1].interval[0]
    assert expected.stages[0].tips_per_million == 0.0


@pytest.mark.all
def test_a_joint_without_a_kick_changes_nothing_and_one_adds_to_the_kicks() -> None:
    none, some = chance(jolted(0.0, 1.0), 1.0, 0.1), chance(jolted(2.0, 1.0), 1.0, 0.1)
    only = chance(jolted(2.0, 0.0), 0.0, 0.1)
    behind = [one.stages[1] for one in (none, some, only)]
    a, b, c = (stage.tips_per_million for stage in behind)
    error = np.linalg.norm([stage.error * stage.tips_per_million for stage in behind])
    assert error < 0.15 * b
    assert b == pytest.approx(a + c, abs=2.6 * error)
    once, twice = (some.spectrum.expected("behind", 1.0, rate=rate).sum() for rate in (1.0, 2.0))
    assert twice - once == pytest.approx(once - some.spectrum.expected("behind", 0.0).sum())
