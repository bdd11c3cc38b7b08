"""Own lean of a whole washer's pack, timed beside the same question asked of shapely.

Run on its own: ``pytest tests/bench/test_lean_speed.py``.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from packsim.can import Stance
from packsim.tipping.lean import LeanEnvelope, own_lean

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
D, H = CAN.diameter_mm, CAN.height_mm
WIRES = (45.0, 90.0)
LANES, COLUMNS, DIRECTIONS = 40, 400, 36
SAMPLE = 200
"""Cans the shapely version is timed on; its time is per can, so it is scaled to all of them."""


def shaken_pack() -> tuple[NDArray[np.float64], float, float]:
    """16,000 cans with 2 % of play, moved at random without overlap."""
    rng = np.random.default_rng(20)
    lane, column = np.divmod(np.arange(LANES * COLUMNS), COLUMNS)
    pitch = 1.02 * D
    x = (column + 0.5 * (lane % 2)) * pitch
    y = 0.51 * D + lane * pitch * math.sqrt(3.0) / 2.0
    shake = rng.uniform(-0.007, 0.007, (lane.size, 2)) * D
    width = 1.02 * D + (LANES - 1) * pitch * math.sqrt(3.0) / 2.0
    return np.column_stack((x, y)) + shake, width, COLUMNS * pitch


def fast(centres: NDArray[np.float64], width: float, period: float, refine: bool) -> LeanEnvelope:
    return own_lean(
        centres,
        CAN,
        left_mm=0.0,
        right_mm=width,
        wire_heights_mm=WIRES,
        period_mm=period,
        directions=DIRECTIONS,
        refine=refine,
    )


def by_shapely(
    centres: NDArray[np.float64], cans: NDArray[np.intp], width: float
) -> tuple[NDArray[np.float64], float]:
    """Rays against grown discs, shapely's array functions and tree throughout; leans and time.

    The discs and their tree are for all cans and count once; the rays are for some cans and their
    time is scaled to all.
    """
    start_s = time.perf_counter()
    discs = shapely.buffer(shapely.points(centres), D, quad_segs=64)
    tree = shapely.STRtree(discs)
    once_s = time.perf_counter() - start_s
    turn = 2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS
    lean = np.empty((cans.size, DIRECTIONS))
    for row, can in enumerate(cans):
        start = centres[can]
        ends = start + H * np.column_stack((np.cos(turn), np.sin(turn)))
        rays = shapely.linestrings(np.stack((np.broadcast_to(start, ends.shape), ends), axis=1))
        ray, disc = tree.query(rays, predicate="intersects")
        ray, disc = ray[disc != can], disc[disc != can]
        reach = shapely.distance(shapely.Point(start), shapely.intersection(rays[ray], discs[disc]))
        # a touching neighbour behind the can is no obstacle; its disc still meets the ray's start
        ahead = np.sum((centres[disc] - start) * (ends[ray] - start), axis=1) > 0.0
        travel = np.full(DIRECTIONS, H)
        np.minimum.at(travel, ray[ahead], reach[ahead])
        lean[row] = np.arcsin(travel / H)
        for gap, toward in (
            (start[1] - D / 2, -np.sin(turn)),
            (width - start[1] - D / 2, np.sin(turn)),
        ):
            facing = toward > 1e-9
            for z in WIRES:
                out = gap / toward[facing]
                wire = np.where(out**2 + z**2 < H**2, np.arctan2(out, z), math.pi / 2)
                lean[row, facing] = np.minimum(lean[row, facing], wire)
    each_s = (time.perf_counter() - start_s - once_s) / cans.size
    return lean, once_s + each_s * len(centres)


def best_of(runs: int, work: Callable[[], object]) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def test_sixteen_thousand_cans_in_half_a_second_and_fifty_times_faster_than_shapely(
    capsys: pytest.CaptureFixture[str],
) -> None:
    centres, width, period = shaken_pack()
    grid_s = best_of(3, lambda: fast(centres, width, period, False))
    refined_s = best_of(3, lambda: fast(centres, width, period, True))
    # away from the ends, where the pack repeats for us and stops for shapely
    middle = np.flatnonzero(np.abs(centres[:, 0] - period / 2.0) < period / 4.0)
    cans = np.random.default_rng(1).choice(middle, SAMPLE, replace=False)
    slow, shapely_s = by_shapely(centres, cans, width)
    got = fast(centres, width, period, False)
    np.testing.assert_allclose(got.lean_rad[cans], slow, atol=1e-3)
    with capsys.disabled():
        print(
            f"\n16,000 cans x 36 directions: grid {grid_s:.3f} s, with worst direction "
            f"{refined_s:.3f} s; shapely {shapely_s:.1f} s (timed on {SAMPLE} cans, scaled); "
            f"{shapely_s / grid_s:.0f} and {shapely_s / refined_s:.0f} times faster"
        )
    assert refined_s < 0.5
    assert shapely_s > 50.0 * refined_s
