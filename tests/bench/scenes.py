"""The packs that are measured: the shipped swing line made longer, run until it is steady."""

from __future__ import annotations

import math
import pickle
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from packsim import load_scenario
from packsim.line import Bracket, Header, Scenario, Stage
from packsim.passage.state import State
from packsim.passage.step import start, step
from packsim.passage.track import Track, loaded_track
from packsim.setting import recommend
from tests.bench.timing import ROOT

DT_S = 0.05
SLEEK, WIDE = "sleek body", "211 body"
ROUGH_DT_S = 0.2
"""Step on the way to a steady state; the last five seconds go at `DT_S`."""

Placed = TypeVar("Placed", Bracket, Header)


def swing_line() -> Scenario:
    return load_scenario(ROOT / "scenarios" / "swing_line.toml")


def longer(line: Scenario, share: float) -> Scenario:
    """Every stage so many times as long, its brackets and headers over and over."""
    return line.with_stages(tuple(_longer(stage, share) for stage in line.stages))


def _longer(stage: Stage, share: float) -> Stage:
    length = share * stage.length_mm
    brackets = _repeated(stage.guides.brackets, stage.length_mm, length)
    end = replace(stage.guides.brackets[-1], station_mm=length)
    spaced = {b.station_mm: b for b in (*brackets, end)}
    guides = replace(stage.guides, brackets=tuple(spaced[at] for at in sorted(spaced)))
    headers = _repeated(stage.headers, stage.length_mm, length)
    return replace(stage, length_mm=length, guides=guides, headers=headers)


def _repeated(things: Sequence[Placed], each_mm: float, length_mm: float) -> tuple[Placed, ...]:
    copies = range(math.ceil(length_mm / each_mm - 1e-9))
    moved = (replace(t, station_mm=t.station_mm + k * each_mm) for k in copies for t in things)
    return tuple(t for t in moved if t.station_mm < length_mm)


@dataclass
class Scene:
    """A pack on its line, which goes on when it is stepped."""

    track: Track
    state: State
    rng: np.random.Generator

    def keep(self, file: Path) -> None:
        """Keep it in a file, with the loads that were worked out on its way."""
        load = self.track.standing.load
        asked = np.flatnonzero(load.values)
        loads = asked, load.values[asked], load.bend[asked]
        file.write_bytes(pickle.dumps((self.track, self.state, self.rng, loads)))

    @classmethod
    def kept(cls, file: Path) -> Scene:
        """Read what `keep` kept."""
        track, state, rng, loads = pickle.loads(file.read_bytes())  # noqa: S301 (our own)
        asked, values, bend = loads
        load = track.standing.load
        load.values[asked], load.bend[asked] = values, bend
        return cls(track, state, rng)

    def go(self, steps: int, dt_s: float = DT_S) -> None:
        for _ in range(steps):
            self.state, _ = step(self.state, self.track, dt_s, self.rng)


@lru_cache(maxsize=16)
def line_of(size: str, cans: int, setting: str = "as set") -> Scenario:
    """The swing line, as set or in its window, at a length that holds about so many cans."""
    line = swing_line()
    if setting == "window":
        line = recommend(line, size).line
    one = start(loaded_track(line, size), np.random.default_rng(1))
    return longer(line, cans / len(one))


@lru_cache(maxsize=8)
def scene(size: str, cans: int, seconds: float, setting: str = "as set") -> Scene:
    """A pack run for so long from the start."""
    track, rng = loaded_track(line_of(size, cans, setting), size), np.random.default_rng(1)
    made = Scene(track, start(track, rng), rng)
    last_s = min(seconds, 5.0)
    made.go(round((seconds - last_s) / ROUGH_DT_S), ROUGH_DT_S)
    made.go(round(last_s / DT_S))
    if made.state.overlap_mm > 0.02:
        raise RuntimeError(f"overlaps of {made.state.overlap_mm} mm are left")
    return made


def shaken(cans: int, share: float = 1.0) -> tuple[NDArray[np.float64], float]:
    """A pack in 40 lanes with 2 % of play, no two overlap; a share of its cans, picked at random.

    Can places and clear width, in diameters.
    """
    rng = np.random.default_rng(20)
    lane, column = np.divmod(np.arange(40 * (cans // 40)), cans // 40)
    rise = 1.02 * math.sqrt(3.0) / 2.0
    places = np.column_stack(((column + 0.5 * (lane % 2)) * 1.02, 0.51 + lane * rise))
    places += rng.uniform(-0.007, 0.007, places.shape)
    return places[rng.random(len(places)) < share], 1.02 + 39 * rise
