"""Repeats kept on disk, so that no passage is run twice."""

from __future__ import annotations

import logging
import os
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from packsim.arrays import Ints
from packsim.chance.sample import Plan, lanes_of, sampled
from packsim.kept import cache_folder, digest_of, program_digest
from packsim.line import Scenario
from packsim.passage.track import Track, loaded_track

if TYPE_CHECKING:
    from joblib import Memory
    from scipy.sparse import csr_array

MOST_BYTES = 500_000_000
"""Size the folder is cut back to, the repeats not used for longest first [byte]."""


@dataclass(frozen=True, slots=True, eq=False)
class Passage:
    """A passage whatever the energy of its kicks: what answers need of it, and how to run it.

    Parameters
    ----------
    key : str
        Digest of what its repeats depend on.
    stages : tuple of str
        Names of the stages.
    lanes : ndarray of int64, shape (n,)
        Lane of every can of the infeed's stretch, from the left; empty where no can fits.
    infeed_mm : float
        Length of that stretch [mm].
    reason : str
        Why no can fits, or empty.
    track : callable
        Returns the line as the can size meets it.
    """

    key: str
    stages: tuple[str, ...]
    lanes: Ints
    infeed_mm: float
    reason: str
    track: Callable[[], Track]

    @staticmethod
    def along(track: Track, again: Callable[[], Track] | None = None) -> Passage:
        """Return the passage along a track; ``again`` makes the track once more."""
        return Passage(
            key=repeat_key(track),
            stages=track.stages,
            lanes=lanes_of(track),
            infeed_mm=track.infeed.length_mm,
            reason=track.infeed.reason,
            track=again or (lambda: track),
        )


def passage_of(scenario: Scenario, size: str) -> Passage:
    """Return the passage of a size down a line; asked again, also with other kicks, the same."""
    still = (replace(s, kicks=replace(s.kicks, energy_mJ=0.0)) for s in scenario.stages)
    return _passage_of(scenario.with_stages(tuple(still)), size)


@lru_cache(maxsize=256)
def _passage_of(scenario: Scenario, size: str) -> Passage:
    return Passage.along(_track_of(scenario, size), partial(_track_of, scenario, size))


@lru_cache(maxsize=2)
def _track_of(scenario: Scenario, size: str) -> Track:
    return loaded_track(scenario, size)


def kept_repeat(passage: Passage, seed: int, number: int, plan: Plan) -> tuple[csr_array, ...]:
    """Return one repeat, from the disk where it is there.

    Parameters
    ----------
    passage : Passage
        What to repeat.
    seed, number : int
        Seed of the whole, and which of its children to take.
    plan : Plan
        As for `packsim.chance.sample.sampled`.

    Returns
    -------
    tuple of csr_array
        As from `packsim.chance.sample.sampled`.
    """
    folder = cache_folder()
    if folder is None:
        return _repeat("", seed, number, plan, passage)
    with _unsaid():
        kept: tuple[csr_array, ...] = _remembering(folder)(passage.key, seed, number, plan, passage)
        return kept


@contextmanager
def _unsaid() -> Iterator[None]:
    """Let joblib say nothing of a full disk or a spoilt file: it goes on without."""
    log = logging.getLogger("joblib")
    was = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", module="joblib")
            yield
    finally:
        log.disabled = was


def is_kept(passage: Passage, seed: int, number: int, plan: Plan) -> bool:
    """Whether one repeat is on the disk; arguments as for `kept_repeat`."""
    folder = cache_folder()
    if folder is None:
        return False
    kept = _remembering(folder)
    return bool(kept.check_call_in_cache(passage.key, seed, number, plan, passage))


def trim() -> None:
    """Cut the folder back to its size."""
    folder = cache_folder()
    if folder is None:
        return
    with suppress(OSError):
        for place in folder.rglob("output.pkl"):
            if place.stat().st_atime > time.time() + 1.0:  # a clock was set back: used just now
                os.utime(place)
    memory_in(folder).reduce_size(bytes_limit=MOST_BYTES)


def repeat_key(track: Track) -> str:
    """Return a digest of what a repeat depends on: program, and track but for kick energies."""
    still = replace(track.shaking, energy_mJ=np.zeros_like(track.shaking.energy_mJ))
    rooms = ("chance", "passage", "tipping", "spray", "pack")
    return digest_of(replace(track, shaking=still), program_digest(*rooms))


def _repeat(
    key: str, seed: int, number: int, plan: Plan, passage: Passage
) -> tuple[csr_array, ...]:
    seeds = np.random.SeedSequence(seed, spawn_key=(number,))
    return sampled(passage.track(), seeds, plan)


@cache
def _remembering(folder: Path) -> Any:
    return memory_in(folder).cache(_repeat, ignore=["passage"])


def memory_in(folder: Path) -> Memory:
    """Return what keeps results of functions in a folder, which `trim` cuts back."""
    from joblib import Memory  # heavy to import: few commands run passages

    return Memory(folder, verbose=0, compress=3)
