"""What is run for hours: every shipped line and size, set in ways nobody would."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.passage.track import Track, loaded_track
from packsim.scenario import load_scenario
from tests.fuzz.case import SHIPPED, chance, pick


@dataclass(frozen=True)
class Case:
    """A track to run, as a periodic slice or as a line full of cans.

    ``words`` say how it is set; ``refused`` why it cannot be. In a pack with ``room`` along travel,
    of cans that are not moved far, few overlap at any time.
    """

    kind: str
    words: str
    track: Track | None = None
    slice_mm: float | None = None
    dt_s: float = 0.05
    room: bool = False
    refused: str = ""


@cache
def shipped() -> tuple[tuple[Scenario, str], ...]:
    """Every shipped line with each of its sizes."""
    lines = [load_scenario(file) for file in SHIPPED]
    return tuple((line, can.name) for line in lines for can in line.sizes)


def case_of(seed: int, number: int) -> Case:
    """Return the case with this number: lines and sizes in turn, the first round of them as set."""
    rng = np.random.default_rng([seed, number])
    turn, at = divmod(number, 2 * len(shipped()))
    line, size = shipped()[at // 2]
    whole = at % 2 == 1
    kind = f"{line.name.partition(',')[0]}, {'whole line' if whole else 'slice'}"
    words = f"{size}, as set"
    slice_mm = None if whole else float(rng.uniform(400.0, 1500.0))
    if turn:
        line, words = _set_otherwise(rng, line)
        words = f"{size}, {words}"
    try:
        friction = pick(rng, [0.0, 0.0, 0.3]) if turn else 0.0
        track = loaded_track(line, size, friction)
    except InputError as problem:
        return Case(kind, words, refused=str(problem))
    dt_s = pick(rng, [0.05, 0.05, 0.02, 0.1]) if turn else 0.05
    words = f"{words}, friction {friction}, step {dt_s} s"
    kicks = [stage.kicks for stage in line.stages]
    far = max(max(k.step_mm, abs(k.drift_mm_per_s) * dt_s) for k in kicks)
    gentle = far < 0.5 and not friction
    room = gentle and max(stage.fill for stage in line.stages) <= 0.97 and not track.too_narrow
    return Case(kind, words, track, slice_mm, dt_s, room)


def _set_otherwise(rng: np.random.Generator, line: Scenario) -> tuple[Scenario, str]:
    """Draw what all its stages share; widths are left, so that packs are loose, snug or jammed."""
    energy, move, rate = 10.0 ** rng.uniform(0.0, 2.0), 10.0 ** rng.uniform(0.0, 1.0), 1.0
    if chance(rng, 0.3):
        rate = 10.0 ** rng.uniform(0.0, 2.0)
    drift = pick(rng, [None, None, 0.0, 5.0, -5.0, 50.0, -50.0])
    fill = pick(rng, [None, 1.0, 0.99, 0.95, 0.8, 0.3, 0.05])
    drawn: dict[str, Any] = {
        "layout": pick(rng, ["lengthwise", "lengthwise", "crosswise"]),
        "tipped": pick(rng, ["leans", "leaves a hole", "lies across"]),
    }
    if fill is not None:
        drawn["fill"] = fill
    stages = []
    for stage in line.stages:
        was = stage.kicks
        kicks = replace(
            was,
            energy_mJ=was.energy_mJ * energy,
            step_mm=was.step_mm * move,
            rate_per_s=was.rate_per_s * rate,
            drift_mm_per_s=was.drift_mm_per_s if drift is None else drift,
        )
        stages.append(replace(stage, kicks=kicks, **drawn))
    mat = replace(line.mat, pack_enters=pick(rng, [0.0, 0.5, 1.0]))
    words = f"kicks x {energy:.3g}, moves x {move:.3g}, rate x {rate:.3g}, drift {drift}, {drawn}"
    return replace(line.with_stages(tuple(stages)), mat=mat), words


def long_case() -> Case:
    """Return the smallest shipped line, full of cans, whose cans tip and leave holes."""
    line, size = min(shipped(), key=lambda one: sum(s.length_mm for s in one[0].stages))
    stages = (
        replace(s, tipped="leaves a hole", kicks=replace(s.kicks, energy_mJ=s.kicks.energy_mJ * 3))
        for s in line.stages
    )
    track = loaded_track(line.with_stages(tuple(stages)), size)
    return Case(f"{line.name}, for hours", f"{size}, kicks x 3", track, dt_s=0.2)
