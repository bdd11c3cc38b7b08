"""Rows about a standing pack: who is near whom, how far each can leans, what is left open."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import freud
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from packsim.can import Stance
from packsim.pack import Pack, find_voids, pack_between
from packsim.pack.neighbours import neighbour_lists
from packsim.tipping.lean import own_lean
from tests.bench.peers_leans import travel_by_tree
from tests.bench.scenes import shaken
from tests.bench.table import Row
from tests.bench.timing import alternated

Floats = NDArray[np.float64]
Lists = tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats]

CAN = Stance(66.09, 124.3, 0.0102, 74.2)
D, H = CAN.diameter_mm, CAN.height_mm
WIRES = (45.0, 90.0)


def pairs(quick: bool) -> Iterator[Row]:
    """Neighbours of every can within a cutoff, both ways, can by can, with the vectors to them."""
    places, _ = shaken(800 if quick else 16_000)
    centres, rounds = places * D, 1 if quick else 15
    freud.parallel.set_num_threads(1)
    for cutoff in (1.2, 1.7):
        name = f"{len(centres):,} cans, 2 % of play"
        work = f"neighbours within {cutoff} D, with vectors"
        jobs: dict[str, Callable[[], Lists]] = {
            "ours": lambda cutoff=cutoff: neighbour_lists(centres, cutoff * D),
            "tree": lambda cutoff=cutoff: lists_by_tree(centres, cutoff * D),
            "freud": lambda cutoff=cutoff: lists_by_freud(centres, cutoff * D),
        }
        starts, found, *_ = jobs["ours"]()
        for peer in ("tree", "freud"):
            start, other, *_ = jobs[peer]()
            if not (np.array_equal(start, starts) and other.sum() == found.sum()):
                raise RuntimeError("the neighbours differ")
        got = alternated(jobs, rounds)
        least = {1.2: 2.8, 1.7: 3.1}[cutoff]
        for peer, of in (("scipy cKDTree", "tree"), ("freud", "freud")):
            limit = None if of == "freud" else least
            yield Row(work, name, got["ours"], "ms", peer, got[of], at_most=limit, at_least=1.0)


def lists_by_tree(centres: Floats, cutoff: float) -> Lists:
    tree = cKDTree(centres, balanced_tree=False, compact_nodes=False)
    first, second = tree.query_pairs(cutoff, output_type="ndarray").T
    x, y = (centres[second] - centres[first]).T
    owner = np.concatenate((first, second))
    order = np.argsort(owner, kind="stable")
    starts = np.concatenate(([0], np.cumsum(np.bincount(owner, minlength=len(centres)))))
    other = np.concatenate((second, first))[order]
    return starts, other, np.concatenate((x, -x))[order], np.concatenate((y, -y))[order]


def lists_by_freud(centres: Floats, cutoff: float) -> Lists:
    low, high = centres.min(axis=0), centres.max(axis=0)
    box = freud.box.Box.from_box(high - low + 3.0 * cutoff, dimensions=2)
    flat = np.column_stack((centres - (low + high) / 2.0, np.zeros(len(centres))))
    query = freud.locality.AABBQuery(box, flat)
    found = query.query(flat, {"r_max": cutoff, "exclude_ii": True}).toNeighborList()
    starts = np.append(found.segments, len(found))
    return starts, found.point_indices, found.vectors[:, 0], found.vectors[:, 1]


def leans(quick: bool) -> Iterator[Row]:
    """Lean of every can in 36 directions, in a full pack and in one whose cans see far."""
    rounds = 1 if quick else 7
    for share, what in ((1.0, "2 % of play"), (0.7, "three in ten missing: many see far")):
        places, across = shaken(800 if quick else 16_000, share)
        centres, width = places * D, across * D
        radius = np.full(len(centres), D / 2.0)
        gaps = width - centres[:, 1] - D / 2.0, centres[:, 1] - D / 2.0

        def ours(
            refine: bool = False, centres: Floats = centres, width: float = width
        ) -> NDArray[np.float64]:
            found = own_lean(
                centres, CAN, left_mm=0.0, right_mm=width, wire_heights_mm=WIRES, refine=refine
            )
            return found.lean_rad

        def peer(
            centres: Floats = centres,
            radius: Floats = radius,
            gaps: tuple[Floats, Floats] = gaps,
        ) -> Floats:
            return np.arcsin(travel_by_tree(centres, radius, gaps, WIRES, H, 36) / H).T

        off = np.abs(ours() - peer())
        if off.max() > 1e-6:
            raise RuntimeError(f"leans differ: {off.max():.3g} rad at {off.argmax()}")
        jobs = {"ours": ours, "peer": peer, "worst": lambda ours=ours: ours(refine=True)}
        got = alternated(jobs, rounds)
        name = f"{len(centres):,} cans, {what}"
        figures = "ms", "numpy and KD-tree", got["peer"]
        yield Row("leans, 36 directions", name, got["ours"], *figures, at_most=15.0, at_least=1.0)
        yield Row("leans, and the worst between them", name, got["worst"])


def voids(quick: bool) -> Iterator[Row]:
    """All voids, against the free area alone from polygons that give it to one in a thousand."""
    pack = pack_between(2310.0, 66.0, length_mm=1_320.0 if quick else 26_400.0, state="slack")
    free = find_voids(pack).free_area_mm2
    exact = pack.clear_width_mm * pack.length_mm - len(pack) * math.pi * 33.0**2
    if abs(free - exact) > 1e-9 * exact or abs(free_by_polygons(pack) - exact) > 1e-3 * exact:
        raise RuntimeError("the free areas differ")
    jobs = {"ours": lambda: find_voids(pack), "polygons": lambda: free_by_polygons(pack)}
    got = alternated(jobs, 1 if quick else 3)
    peer = "shapely, free area alone, to 0.1 %"
    name = f"{len(pack):,} cans, slack"
    yield Row("voids", name, got["ours"], "ms", peer, got["polygons"], at_least=1.0)


def free_by_polygons(pack: Pack) -> float:
    """Strip less cans, drawn as polygons of the area of a can; those across the ends twice.

    Cut into pieces of the strip, which takes shapely less time than all of it at once.
    """
    sides = 64
    equal = math.sqrt(2.0 * math.pi / sides / math.sin(2.0 * math.pi / sides))
    radius = pack.diameter_mm / 2.0
    x = pack.centres_mm[:, 0]
    before, after = pack.centres_mm[x < radius], pack.centres_mm[x > pack.length_mm - radius]
    over = np.array([pack.length_mm, 0.0])
    centres = np.concatenate((pack.centres_mm, before + over, after - over))
    cans = shapely.buffer(shapely.points(centres), radius * equal, quad_segs=sides // 4)
    tree = shapely.STRtree(cans)
    ends = np.linspace(0.0, pack.length_mm, 1 + max(1, len(pack) // 200))
    strips = shapely.box(ends[:-1], 0.0, ends[1:], pack.clear_width_mm)
    strip, can = tree.query(strips)
    parts = [shapely.union_all(cans[can[strip == i]]) for i in range(len(strips))]
    return float(shapely.area(shapely.difference(strips, parts)).sum())
