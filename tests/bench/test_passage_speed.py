"""How fast the passage runs, against stated floors and against an independent engine.

Run by hand: ``pytest tests/bench/test_passage_speed.py -s``. Times are the best of several batches,
so that other work on the machine counts as little as it can.
"""

from __future__ import annotations

import math
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pymunk
import pytest

from packsim.can import Can
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
from packsim.passage.frames import frame_of
from packsim.passage.kicks import draw_kicks, tips_of
from packsim.passage.state import State
from packsim.passage.step import start, step
from packsim.passage.track import Track, build_track
from tests.oracles.overlaps import overlaps_mm

CAN = Can("demo 66", 66.0, 124.0, 0.0102, 74.0, 10.0, 23.0, diameter_tol_mm=0.05)
DT_S = 0.05


def washer(length_mm: float, lanes: int = 24, slack: float = 8.5) -> Track:
    """An invented line of five stages on a 1.6 m mat."""
    width = 66.0 * (1 + (lanes - 1) * math.sqrt(3) / 2) + slack
    wires = Wires((40.0, 90.0), 600.0, 0.0565, 1.36e6)
    each = length_mm / 5
    stages = tuple(
        Stage(
            f"stage {k}",
            "flood",
            each,
            Guides(
                tuple(
                    Bracket(x, 800 - width / 2, 800 + width / 2)
                    for x in np.linspace(0.0, each, 2 + int(each / 1000))
                ),
                wires,
            ),
            Kicks(energy, 2.0, 0.2, drift),
            fill=0.99,
            water_in_dome=(1.0, 1.0),
            pack_pressure_N_per_m=10.0,
        )
        for k, (energy, drift) in enumerate(
            ((0.05, 0.0), (0.1, 0.1), (0.15, 0.1), (0.05, -0.1), (0.05, 0.0))
        )
    )
    return build_track(Scenario("bench", "", Mat(1600.0, 92.0), stages, (CAN,), CAN.name), CAN)


def warmed(track: Track, steps: int = 40) -> tuple[State, np.random.Generator]:
    rng = np.random.default_rng(1)
    state = start(track, rng)
    for _ in range(steps):
        state, _ = step(state, track, DT_S, rng)
    return state, rng


def best_s(work: Callable[[], object], batches: int = 7) -> float:
    times = []
    for _ in range(batches):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


@pytest.fixture(scope="module")
def full() -> tuple[Track, State, np.random.Generator]:
    track = washer(41_000.0)
    return track, *warmed(track)


def step_s(track: Track, state: State, rng: np.random.Generator, steps: int = 30) -> float:
    """Time of one full step, infeed, discharge and list renewal at their usual share [s]."""

    def batch() -> None:
        here = state
        for _ in range(steps):
            here, _ = step(here, track, DT_S, rng)
        assert here.overlap_mm <= 0.02

    return best_s(batch) / steps


def test_fifteen_thousand_cans_run_at_120_steps_a_second(full) -> None:
    track, state, rng = full
    assert len(state) >= 15_000
    each = step_s(track, state, rng)
    print(f"\n{len(state)} cans: {1 / each:.0f} steps/s, {1e3 * each:.2f} ms each")
    assert 1 / each >= 120


def impulse_scene(track: Track, state: State) -> tuple[pymunk.Space, list[pymunk.Body]]:
    """The same cans between the same walls; overlaps are corrected as fast as it can."""
    space = pymunk.Space(threaded=False)
    space.damping, space.collision_slop, space.collision_bias = 0.0, 0.0, 0.0
    space.use_spatial_hash(66.0, len(state) * 2)
    bodies = []
    for x, y, radius in zip(state.x_mm, state.y_mm, state.radius_mm, strict=True):
        body = pymunk.Body(1.0, 1e6)
        body.position = float(x), float(y)
        space.add(body, pymunk.Circle(body, float(radius)))
        bodies.append(body)
    for y in (float(track.left_mm.min()) - 50, float(track.right_mm.max()) + 50):
        space.add(pymunk.Segment(space.static_body, (-1e6, y), (1e6, y), 50.0))
    return space, bodies


def test_five_times_as_fast_as_an_impulse_engine(full) -> None:
    """pymunk gets the same cans, as many kicks, 10 iterations, and as many of its steps as it needs
    to bring the overlaps below the same 0.02 mm; one of them leaves about half of each overlap.
    Looking the overlaps up is not on its bill."""
    track, state, rng = full
    ours = step_s(track, state, rng)
    space, bodies = impulse_scene(track, state)
    space.step(DT_S)

    def overlap() -> float:
        place = np.array([body.position.x + 1j * body.position.y for body in bodies])
        return float(overlaps_mm(state.near, place).max())

    totals, singles = [], []
    for _ in range(3):
        begin = time.perf_counter()
        for k in rng.integers(0, len(bodies), rng.poisson(len(bodies) * 2.0 * DT_S)):
            dx, dy = rng.normal(0.0, 0.2, 2)
            x, y = bodies[k].position
            bodies[k].position = x + dx, y + dy
        spent = time.perf_counter() - begin
        for _ in range(40):
            begin = time.perf_counter()
            space.step(DT_S)
            singles.append(time.perf_counter() - begin)
            spent += singles[-1]
            if overlap() <= 0.02:
                break
        totals.append(spent)
    theirs = min(totals)
    print(f"\nours {1e3 * ours:.2f} ms; pymunk {1e3 * theirs:.1f} ms to the same overlap", end="")
    print(f" ({theirs / ours:.1f} x), {1e3 * min(singles):.1f} ms for one step of its own")
    assert theirs >= 5.0 * ours


def test_asking_who_tips_takes_less_than_a_quarter_of_a_step(full) -> None:
    track, state, rng = full
    whole = step_s(track, state, rng)
    station = state.station_mm
    cell = track.cell(station)
    stage = track.stage_at.take(cell)
    low, high = track.limits_mm(station, state.radius_mm, cell)
    blows = [draw_kicks(track, stage, state.station_mm, state.tipped, DT_S, rng) for _ in range(40)]

    def batch() -> None:
        for kick in blows:
            tips_of(state, track, kick, stage, low, high)

    asking = best_s(batch) / len(blows)
    print(f"\ntipping check {1e3 * asking:.3f} ms of {1e3 * whole:.2f} ms")
    assert asking <= whole / 4.0


def test_memory_stays_below_300_megabytes(full) -> None:
    track, state, rng = full
    tracemalloc.start()
    here = replace(state)
    for _ in range(20):
        here, _ = step(here, track, DT_S, rng)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    total = peak + state.nbytes
    print(f"\npeak {total / 1e6:.1f} MB")
    assert total < 300e6


def test_the_cost_is_in_proportion_to_the_cans() -> None:
    each = {}
    for length in (5_000.0, 20_000.0, 80_000.0, 175_000.0):
        track = washer(length)
        state, rng = warmed(track, 10)
        each[len(state)] = step_s(track, state, rng, 8) / len(state)
    sizes = sorted(each)
    for n in sizes:
        print(f"\n{n} cans: {1e9 * each[n]:.0f} ns a can and step", end="")
    assert sizes[0] < 2600
    assert sizes[-1] > 62_000
    slope = np.polyfit(np.log(sizes), np.log([each[n] * n for n in sizes]), 1)[0]
    print(f"\ncost grows as n^{slope:.2f}")
    assert 0.7 < slope < 1.2


def test_a_frame_of_six_thousand_cans_is_quick() -> None:
    track = washer(16_000.0)
    state, _ = warmed(track)
    frame_of(state, track)
    each = best_s(lambda: frame_of(state, track), 15)
    print(f"\nframe of {len(state)} cans: {1e3 * each:.2f} ms")
    assert each < 0.008
