"""Run a case for as many steps as it is given, and watch it."""

from __future__ import annotations

import gc
import sys
import tracemalloc
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from packsim.passage.step import start, start_slice, step
from tests.soak.cases import Case
from tests.soak.checks import Watch

LOOK_EVERY = 40
"""Steps between looks at every can; what is counted is looked at in each."""

TRACED = 400
"""Steps that are traced, after an eighth of the time and at the end: tracing takes its time."""

MOST_BYTES = 200_000
"""By which these two may differ in what they leave: all that a line holds is less [byte]."""

MOST_BLOCKS = 2_000
"""By which the pieces of memory in use may differ from the one moment to the other."""


@dataclass
class End:
    """How a case ended."""

    can_steps: int = 0
    time_s: float = 0.0
    grown: int = 0
    wrong: list[str] = field(default_factory=list)


def soak(case: Case, rng: np.random.Generator, *, can_steps: float, least: int = 1) -> End:
    """Run a case over and over until it has taken as many can-steps and at least some steps."""
    end = End()
    if case.track is None or not len(case.track.infeed):
        return end
    steps = 0
    while (end.can_steps < can_steps or steps < least) and not end.wrong:
        for on_mat, wrong in _passage(case, rng):
            end.can_steps += on_mat
            end.time_s += case.dt_s
            steps += 1
            end.wrong += wrong
            if wrong or (end.can_steps >= can_steps and steps >= least):
                break
    return end


def _passage(case: Case, rng: np.random.Generator) -> Iterator[tuple[int, list[str]]]:
    """Yield how many cans each step of a passage had, and what is wrong; a line has no end."""
    track = case.track
    assert track is not None
    if case.slice_mm is None:
        state = start(track, rng, filled=bool(rng.random() < 0.8))
    else:
        state = start_slice(track, rng, max(case.slice_mm, 4.0 * track.diameter_mm))
    watch = Watch(track)
    while True:
        at_once = len(state)
        state, events = step(state, track, case.dt_s, rng)
        wrong = list(watch.counts(state, events))
        if watch.steps % LOOK_EVERY == 0:
            wrong += watch.pack(state)
            wrong += watch.room() if case.room else ()
        yield at_once, wrong
        if case.slice_mm is not None and len(state) == 0:
            return


def soak_for_hours(case: Case, rng: np.random.Generator, hours: float) -> End:
    """Run a line full of cans for so long; its memory after an eighth of that is that at the end.

    Nothing of the passage is kept here, and of the cans that tipped only those still on the mat.
    """
    track, end = case.track, End()
    assert track is not None
    state, watch, memory = start(track, rng), Watch(track), []
    steps = max(round(hours * 3600.0 / case.dt_s), 16 * TRACED)
    for done in range(1, steps + 1):
        if done + TRACED in (steps // 8, steps):
            tracemalloc.start(1)
        end.can_steps += len(state)
        state, events = step(state, track, case.dt_s, rng)
        end.wrong += watch.counts(state, events)
        if done % (10 * LOOK_EVERY) == 0:
            end.wrong += watch.pack(state)
            watch.tipped &= set(state.id.tolist())
        if end.wrong:
            break
        if done in (steps // 8, steps):
            gc.collect()
            memory.append((tracemalloc.get_traced_memory()[0], sys.getallocatedblocks()))
            tracemalloc.stop()
    tracemalloc.stop()
    end.time_s = state.time_s
    if len(memory) == 2:
        end.grown, blocks = np.subtract(*reversed(memory)).tolist()
        if end.grown > MOST_BYTES or blocks > MOST_BLOCKS:
            end.wrong.append(f"{end.grown} bytes and {blocks} pieces of memory more at the end")
    return end
