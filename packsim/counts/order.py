"""How much to run: cans or a slice, how often, from which seed; counted, or kept to play back."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from packsim.counts.many import run_many
from packsim.counts.passages import Passages
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.passage.record import Record
from packsim.passage.run import run_passage
from packsim.passage.track import loaded_track

CANS: Final = 5000
"""Cans to follow when nobody says how many."""

FRAME_EVERY_S: Final = 2.0
"""Time between the frames of a kept passage [s]."""

Progress = Callable[[float, int], None]


@dataclass(frozen=True, slots=True)
class Order:
    """How much to run.

    Parameters
    ----------
    size : str, optional
        Can size; the one the guides are set for by default.
    seed : int, optional
        Seed of the whole; the scenario's own by default.
    cans : int, optional
        Cans to follow in each run; `CANS` by default.
    slice_mm : float, optional
        Follow a periodic slice of this length instead of a number of cans [mm].
    repeats, workers : int
        Runs, and processes to share them.
    can_friction : float
        Friction between cans [-].

    Raises
    ------
    InputError
        If both ``cans`` and ``slice_mm`` are given.
    """

    size: str | None = None
    seed: int | None = None
    cans: int | None = None
    slice_mm: float | None = None
    repeats: int = 1
    workers: int = 1
    can_friction: float = 0.0

    def __post_init__(self) -> None:
        if self.cans is not None and self.slice_mm is not None:
            raise InputError("cans", self.cans, "no number with a slice: its length says how many")

    def count(self, scenario: Scenario, progress: Progress | None = None) -> Passages:
        """Run it on a line and count; as `packsim.counts.many.run_many`."""
        size = scenario.size(self.size).name
        return run_many(
            loaded_track(scenario, size, self.can_friction),
            size,
            cans=self._cans,
            slice_mm=self.slice_mm,
            repeats=self.repeats,
            seed=self._seed(scenario),
            workers=self.workers,
            progress=progress,
        )

    def keep(self, scenario: Scenario, text: str, progress: Progress | None = None) -> Record:
        """Run one passage on a line with its frames; ``text`` is the scenario as TOML."""
        size = scenario.size(self.size).name
        return run_passage(
            loaded_track(scenario, size, self.can_friction),
            seed=self._seed(scenario),
            cans=self._cans,
            slice_mm=self.slice_mm,
            size=size,
            scenario=text,
            frame_every_s=FRAME_EVERY_S,
            progress=None if progress is None else lambda share: progress(share, 1),
        )

    @property
    def _cans(self) -> int | None:
        return CANS if self.cans is None and self.slice_mm is None else self.cans

    def _seed(self, scenario: Scenario) -> int:
        return scenario.seed if self.seed is None else self.seed
