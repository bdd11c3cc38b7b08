"""A whole washer's pack of 16,000 cans: how fast, against the plain way in the same run.

Ratios, not seconds, are asserted: they hold on a slow machine too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from time import perf_counter

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree

from packsim.constants import CONTACT_TOL_REL
from packsim.pack import Pack, Voids, find_voids, neighbour_pairs, pack_between
from tests.oracles.contacts import contacts

D = 66.0
WIDTH = 2310.0
LENGTH = 26_400.0


def build() -> tuple[Pack, Voids]:
    pack = pack_between(WIDTH, D, length_mm=LENGTH, state="slack")
    contacts(pack)
    return pack, find_voids(pack)


def free_area_by_polygons(pack: Pack) -> float:
    """The strip less the union of the cans as polygons, cans across the ends taken twice."""
    shifts = np.array([[k * pack.length_mm, 0.0] for k in (-1, 0, 1)])
    centres = (pack.centres_mm + shifts[:, None]).reshape(-1, 2)
    near = (centres[:, 0] > -D) & (centres[:, 0] < pack.length_mm + D)
    cans = shapely.union_all(shapely.buffer(shapely.points(centres[near]), D / 2, quad_segs=16))
    strip = shapely.box(0.0, 0.0, pack.length_mm, pack.clear_width_mm)
    return float(shapely.difference(strip, cans).area)


def best_of(times: int, call: Callable[[], object]) -> float:
    spent = []
    for _ in range(times):
        start = perf_counter()
        call()
        spent.append(perf_counter() - start)
    return min(spent)


def test_pack_contacts_and_voids_beat_polygons_twentyfold(benchmark) -> None:
    pack, voids = benchmark.pedantic(build, rounds=5, warmup_rounds=1)
    assert 15_500 < len(pack) < 16_500
    start = perf_counter()
    area = free_area_by_polygons(pack)
    plain = perf_counter() - start
    ratio = plain / benchmark.stats.stats.median
    benchmark.extra_info |= {"cans": len(pack), "polygons_s": plain, "ratio": ratio}
    print(f"{len(pack)} cans: polygons take {ratio:.0f} times as long")
    # a polygon of 64 sides lacks 0.16 % of its can
    assert area - voids.free_area_mm2 == pytest.approx(
        len(pack) * math.pi * D**2 / 4 * (1 - math.sin(math.pi / 32) / (math.pi / 32)), rel=0.01
    )
    assert ratio >= 20.0


@pytest.mark.parametrize("cutoff", [1 + CONTACT_TOL_REL, 1.3])
def test_neighbour_pairs_keep_up_with_a_tree(benchmark, cutoff: float) -> None:
    pack = pack_between(WIDTH, D, length_mm=LENGTH, state="slack")

    def tree() -> np.ndarray:
        return cKDTree(pack.centres_mm).query_pairs(cutoff * D, output_type="ndarray")

    pairs, _ = benchmark.pedantic(
        neighbour_pairs, args=(pack.centres_mm, cutoff * D), rounds=15, warmup_rounds=2
    )
    assert len(pairs) == len(tree())
    ratio = benchmark.stats.stats.min / best_of(15, tree)
    benchmark.extra_info |= {"cans": len(pack), "ratio": ratio}
    print(f"{len(pack)} cans, {len(pairs)} pairs: {ratio:.2f} times the tree's time")
    assert ratio <= 2.0
