"""Run a case for as many steps as it is given, and watch it."""

from __future__ import annotations

import gc
import tracemalloc
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from packsim.passage.step import start, start_slice, step
from tests.soak.cases import Case
from tests.soak.checks import Watch

LOOK_EVERY = 40
"""Steps between looks at every can; what is counted is looked at in each."""

MOST_GROWN = 200_000
"""Memory by which two moments of a line that is full may differ [byte]: a can takes a hundred."""


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
    track, end, before = case.track, End(), None
    assert track is not None
    state, watch = start(track, rng), Watch(track)
    steps = round(hours * 3600.0 / case.dt_s)
    tracemalloc.start(1)
    try:
        for done in range(1, steps + 1):
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
                now = tracemalloc.get_traced_memory()[0]
                before = now if before is None else before
                end.grown = now - before
    finally:
        tracemalloc.stop()
    if end.grown > MOST_GROWN:
        end.wrong.append(f"{end.grown} bytes more at the end than after an eighth")
    end.time_s = state.time_s
    return end
