"""Counted tips against expected ones, by stage and place, on every line that is shipped."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from packsim.chance.keep import Passage
from packsim.chance.line_chance import LineChance, _settled
from packsim.chance.sample import Plan
from packsim.counts.intervals import poisson_interval
from packsim.passage.record import PLACES
from packsim.passage.step import start_slice, step
from packsim.passage.track import Track, loaded_track
from packsim.scenario import load_scenario

AIM = 40_000.0
"""Tips per million that the kicks are made strong enough for, so that there are some to count."""

LINES = [
    ("first_look.toml", None),
    ("height_only.toml", None),
    ("oven_lane.toml", None),
    ("swing_line.toml", "sleek body"),
    ("lessons/lines/teaching_line.toml", "sleek body"),
]


def stronger(found: LineChance, factor: float) -> LineChance:
    return found.at({stage: kick * factor for stage, kick in found.kicks_mJ.items()})


@pytest.mark.parametrize(
    ("file", "size"),
    [
        pytest.param(*line, id=line[0], marks=() if "lessons" in line[0] else pytest.mark.all)
        for line in LINES
    ],
)
def test_counted_and_expected(root, file, size) -> None:
    scenario = load_scenario(root / "scenarios" / file)
    track = loaded_track(scenario, scenario.size(size).name)
    kicks = dict(zip(track.stages, track.shaking.energy_mJ.tolist(), strict=True))
    plan = Plan(slice_mm=300.0, cans=50, dt_s=0.4, look_mm=800.0)
    found = _settled(Passage.along(track), scenario.seed, kicks, 1.0, plan, None)
    most = float((track.standing.rest_energy_mJ / track.shaking.energy_mJ).min())
    # barriers are infinite or above the ceiling, where still stronger kicks would pass uncounted
    if stronger(found, most).tips_per_million < AIM:
        factor = most / 3.0
    else:
        factor = math.exp(
            brentq(
                lambda x: math.log(max(stronger(found, math.exp(x)).tips_per_million, 1e-99) / AIM),
                -7.0, 7.0, xtol=1e-3,
            )
        )  # fmt: skip
    expected = stronger(found, factor)
    cans, tips = counted(replace(track, shaking=replace(
        track.shaking, energy_mJ=track.shaking.energy_mJ * factor
    )), scenario.seed)  # fmt: skip
    for here, stage in zip(tips, expected.stages, strict=True):
        assert_within(cans, int(here.sum()), stage.interval)
        for k in range(3):
            assert_within(cans, int(here[k]), tuple(stage.by_place_interval[k]))
    assert np.isclose(expected.tips_per_million, AIM, rtol=0.02) == (tips.sum() > 0)


def counted(track: Track, seed: int) -> tuple[int, np.ndarray]:
    """Cans and tips by stage and place; a tipped can is stood up again at once.

    What a can that is down does to those beside it is no part of the chance that a can tips first.
    """
    tips = np.zeros((len(track.stages), 3), dtype=int)
    rng = np.random.default_rng(seed + 1)
    state = start_slice(track, rng, 300.0 / len(track.infeed) * track.infeed.length_mm)
    cans, upright, span = len(state), np.zeros(len(state)), state.span_mm
    while len(state):
        state, events = step(state, track, 0.4, rng)
        for event in events:
            tips[event.stage, PLACES.index(event.place)] += 1
        if events and len(state):
            state = replace(state, fell_rad=upright, down_rad=upright, span_mm=span).listed()
    return cans, tips


def assert_within(cans: int, tips: int, interval: tuple[float, float]) -> None:
    low, high = (1e6 * end / cans for end in poisson_interval(tips, 0.999))
    assert low <= interval[1]
    assert high >= interval[0]
