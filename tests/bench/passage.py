"""Rows about the moving pack: its steps, energies to tip, leans, and growth with the cans."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from packsim.chance.directions import along_sprays_mm, turned_pack
from packsim.chance.sample import FOLLOWED
from packsim.pack import find_voids, pack_between
from packsim.passage import frames
from packsim.passage.laid import sorted_pack
from packsim.passage.step import start_slice, step
from packsim.passage.tip import needed_mJ
from packsim.passage.track import loaded_track
from tests.bench.peers_discs import ByTree, Impulse
from tests.bench.peers_leans import travel_by_tree
from tests.bench.scenes import DT_S, SLEEK, WIDE, Scene, scene, swing_line
from tests.bench.table import Row
from tests.bench.timing import alternated, cpu_ms, in_turns, told

STATES = (
    ((SLEEK, 15_000, 75.0, "as set"), 1.8, 10.0),
    ((WIDE, 15_000, 120.0, "as set"), 3.5, 6.0),
    ((SLEEK, 15_000, 120.0, "window"), 3.5, 6.0),
    ((SLEEK, 60_000, 75.0, "as set"), 7.0, 10.0),
)
"""Scenes, and the goals: CPU ms a step, times a bare step of pymunk."""

LINEAR = 0.6
"""Least ratio of the time a can at the fewest to that at the most: from 2,000 to 256,000 cans the
whole then grows as the 1.1th power of the cans or less; a cache holds the fewest alone."""

PROCESSES = 5
"""Fresh processes that each state is measured in, one state after the other again and again. What
pymunk takes differs by a third and more from one time to another, in one process too, and to the
same places to the last bit. It is not where its memory lies: four spaces of one process take the
same in turns, and it differs as much where addresses are not drawn at random. Its bodies, shapes
and contacts are more than the cache of a core holds, so we think that it waits for the one all
cores share, with whatever else runs on the machine beneath. Our steps differ by a tenth."""

ROUNDS = 3

KINDS = {"default tree": False, "spatial hash": True}
"""How pymunk looks for neighbours, and whether that is by its hash."""

ALONE = "from tests.bench.passage import figures\nprint(*figures({file!r}))"

STEPS = 32
"""Steps of ours in a run: infeed, discharge and new lists at their usual share. Pairs are listed
anew once in some thirty steps; the first of a run finds nothing of the pack in the caches."""


def steps(quick: bool) -> Iterator[Row]:
    """One step of time in steady states, fresh ones told apart from pressed ones."""
    states = STATES[: 2 if quick else None]
    with tempfile.TemporaryDirectory() as folder:
        found: dict[str, list[list[float]]] = {}
        for (size, cans, seconds, setting), _, _ in states:
            pack, name = _scene(size, cans, seconds, setting, quick)
            pack.keep(Path(folder, str(len(found))))
            found[name] = []
        for _ in range(1 if quick else PROCESSES):
            for number, figures_of in enumerate(found.values()):
                figures_of.append(told(ALONE.format(file=str(Path(folder, str(number))))))
    for name, (_, at_most, at_least) in zip(found, states, strict=True):
        yield from _step(name, np.transpose(found[name]), at_most, at_least)


def _scene(size: str, cans: int, seconds: float, setting: str, quick: bool) -> tuple[Scene, str]:
    cans, seconds = (800, 2.0) if quick else (cans, seconds)
    pack = scene(size, cans, seconds, setting)
    where = "in its window" if setting == "window" else setting
    return pack, f"{len(pack.state):,} cans, {size} {where}, {seconds:g} s in"


def _step(name: str, found: np.ndarray, at_most: float, at_least: float) -> Iterator[Row]:
    """Rows from `figures` of some processes; each is that of the process with the middle ratio."""
    ours, numpy, *pymunk = found
    bare, whole = np.array(pymunk[:2]), np.array(pymunk[2:])
    wanted = {"at_most": at_most, "at_least": at_least}
    for what, theirs, limits in (
        ("one bare step", bare, wanted),
        ("steps to 0.02 mm", whole, {"at_least": 60.0}),
    ):
        best = theirs.min(axis=0)
        at = np.argsort(best / ours)[ours.size // 2]
        peer = f"pymunk, {what}, {list(KINDS)[theirs[:, at].argmin()]}"
        yield Row("step", name, ours[at], "ms", peer, best[at], **limits)
    at = np.argsort(numpy / ours)[ours.size // 2]
    peer = "numpy and KD-tree, to 0.02 mm"
    yield Row("step", name, ours[at], "ms", peer, numpy[at], at_least=1.0)


def figures(file: str) -> list[float]:
    """CPU time of a step of a scene in a file [ms], all in turns: what `ALONE` prints.

    Ours, that of numpy, then of each kind of pymunk a bare one and those to 0.02 mm.
    """
    pack = Scene.kept(Path(file))
    peers = {kind: Impulse(pack, spatial_hash=hashed) for kind, hashed in KINDS.items()}
    tree = ByTree(pack)
    times: dict[str, list[float]] = {kind: [] for kind in peers}

    def bare(kind: str) -> float:
        first, everything = peers[kind].round()
        times[kind].append(everything)
        return first

    def ours() -> float:
        return cpu_ms(lambda: pack.go(STEPS)) / STEPS

    for _ in range(3):  # the first two find memory that nobody has touched
        ours()
    jobs = {"ours": ours, "numpy": tree.round}
    jobs |= {kind: lambda kind=kind: bare(kind) for kind in peers}
    got = in_turns(jobs, ROUNDS)
    return [*got.values(), *(float(np.median(times[kind])) for kind in peers)]


def looks(quick: bool) -> Iterator[Row]:
    """What is asked of a standing moment: energies to tip every can, and how far each can lean."""
    rounds = 1 if quick else 7
    for (size, cans, seconds, setting), _, _ in STATES[: 1 if quick else 2]:
        pack, name = _scene(size, cans, seconds, setting, quick)
        yield _lean(name, pack, rounds)
    cans = 800 if quick else 15_000
    spent = alternated({"ours": energies(cans)}, min(rounds, 3))["ours"]
    name = f"a slice of {cans:,} cans, sleek body as set, in the wash"
    yield Row("energies to tip, 16 directions", name, spent, at_most=15.0)


def energies(cans: int) -> Callable[[], np.ndarray]:
    """What works out the energy to tip every can of a slice in the wash in 16 directions [mJ].

    As the chance of a tip asks it: in a slice, from tables of what each can meets, and up to a
    budget that is drawn.
    """
    track, rng = loaded_track(swing_line(), SLEEK), np.random.default_rng(1)
    length = cans / len(track.infeed) * track.infeed.length_mm
    state, stage = start_slice(track, rng, length), track.stages.index("wash")
    while state.travel_mm < track.bounds_mm[stage : stage + 2].mean():
        state, _ = step(state, track, 0.2, rng, tips=False)
    station = state.station_mm
    low, high, _ = track.limits_mm(station, state.radius_mm)
    turn = 2.0 * np.pi * (np.arange(16) + 0.3) / 16
    along = along_sprays_mm(state, track)[None]
    asked = np.arange(16 * len(state))
    followed = FOLLOWED * float(track.standing.rest_energy_mJ[stage])
    budget = followed / (1.0 - rng.random(asked.size))
    towards, where = turn.take(asked // len(state)), np.full(asked.size, stage)

    def work() -> np.ndarray:
        laid = sorted_pack(state.place_mm, state.radius_mm, low, high, state.period_mm)
        turned = turned_pack(laid, track, turn, along)
        return needed_mJ(turned, track, asked, towards, where, budget)

    return work


def _lean(name: str, pack: Scene, rounds: int) -> Row:
    """A frame of ours has balance angles and roles too; the peer's has leans alone."""
    state, track = pack.state, pack.track
    low, high, stage = track.limits_mm(state.station_mm, state.radius_mm)
    height, wires = track.standing.height_mm, track.standing.wires_mm[0]
    points = np.column_stack((state.x_mm, state.y_mm))
    gaps = high - state.y_mm, state.y_mm - low

    def peer() -> np.ndarray:
        return travel_by_tree(points, state.radius_mm, gaps, wires, height, frames.DIRECTIONS).max(
            axis=0
        )

    lean = np.arcsin(np.minimum(peer() / height, 1.0))
    theirs = np.minimum(lean, track.standing.meeting_rad.take(np.maximum(stage, 0)))
    # near the ends the pack goes on unseen for us and ends for the peer; tipped cans lie
    inside = (stage >= 0) & ~state.tipped
    off = np.abs(frames.frame_of(state, track).lean_rad - theirs)[inside]
    if np.quantile(off, 0.99) > 1e-3:
        raise RuntimeError(f"leans differ: {np.quantile(off, 0.99):.3g} rad")
    got = alternated({"ours": lambda: frames.frame_of(state, track), "peer": peer}, rounds)
    return Row(
        f"leans of a frame, {frames.DIRECTIONS} directions",
        name,
        got["ours"],
        peer="numpy and KD-tree",
        theirs=got["peer"],
        at_most=15.0,
        at_least=1.0,
    )


def growth(quick: bool) -> Iterator[Row]:
    """Time a can and step, voids a can, and memory, from few cans to many."""
    sizes = (500, 1000) if quick else (2_000, 16_000, 64_000, 256_000)
    each, voids = {}, {}
    for cans in sizes:
        pack = scene(SLEEK, cans, 1.0)
        pack.go(STEPS)
        spent = in_turns({"ours": lambda pack=pack: cpu_ms(lambda: pack.go(STEPS))}, 3)["ours"]
        count = len(pack.state)
        each[count] = 1e3 * spent / STEPS / count
        lattice = pack_between(2310.0, 66.0, length_mm=1.65 * cans, state="slack")
        spent = alternated({"ours": lambda lattice=lattice: find_voids(lattice)}, 1)["ours"]
        voids[len(lattice)] = 1e3 * spent / len(lattice)
    scene.cache_clear()
    for what, found in (("step, a can", each), ("voids, a can", voids)):
        least, most = min(found), max(found)
        label = f"{least:,} cans"
        for count in list(found)[1:]:
            limit = LINEAR if count == most else None
            figures = found[count], "µs", label, found[least]
            yield Row(what, f"{count:,} cans", *figures, at_least=limit)
    for what, code in (("memory of a passage", PASSAGE), ("memory of voids", VOIDS)):
        (mib,) = told(MEMORY.format(work=code.format(cans=sizes[-1])))
        yield Row(what, f"{sizes[-1]:,} cans", mib, "MiB", at_most=500.0)


MEMORY = """
from pathlib import Path
from tests.bench.scenes import scene, SLEEK
from packsim.pack import find_voids, pack_between
def most():  # getrusage would tell what the process that started this one has used
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) / 1024.0
before = most()
{work}
print(most() - before)
"""
PASSAGE = f"scene(SLEEK, {{cans}}, {20 * DT_S})"
VOIDS = 'find_voids(pack_between(2310.0, 66.0, length_mm=1.65 * {cans}, state="slack"))'
