"""How much to run: how many cans, how often, from which seed; counted, or kept to play back."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from packsim.counts.along_travel import room_along
from packsim.counts.copies import Task, nothing
from packsim.counts.many import Line, run_many
from packsim.counts.passages import Passages
from packsim.line import Scenario
from packsim.passage.record import Record
from packsim.passage.run import run_passage
from packsim.passage.track import loaded_track

CANS: Final = 5000
"""Cans to count in each run when nobody says how many."""

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
    cans : int
        Cans to count in each run.
    repeats : int
        Number of runs.
    workers : int, optional
        Processes to share them; all cores by default.
    whole_line : bool, optional
        Follow the cans through a line full of cans instead of counting slices that repeat; by
        default where slices would count otherwise, see `packsim.counts.along_travel`.
    can_friction : float
        Friction between cans [-].
    """

    size: str | None = None
    seed: int | None = None
    cans: int = CANS
    repeats: int = 1
    workers: int | None = None
    whole_line: bool | None = None
    can_friction: float = 0.0

    def count(
        self,
        scenario: Scenario,
        progress: Progress | None = None,
        resume: str | Path | None = None,
    ) -> Passages:
        """Run it on a line and count; as `packsim.counts.many.run_many`.

        With a file to ``resume`` a count that was cut off goes on, and gives the same.
        """
        return self.count_each([scenario], progress, resume)[0]

    def count_each(
        self,
        scenarios: Sequence[Scenario],
        progress: Progress | None = None,
        resume: str | Path | None = None,
        meanwhile: Task = nothing,
    ) -> tuple[Passages, ...]:
        """Run it on several lines at once, and count on each; as `run_many`."""
        sizes = [scenario.size(self.size).name for scenario in scenarios]
        lines = [
            Line(
                size,
                self._seed(scenario),
                loaded_track(scenario, size, self.can_friction),
                self._whole_line(scenario, size),
            )
            for size, scenario in zip(sizes, scenarios, strict=True)
        ]
        return run_many(
            lines,
            cans=self.cans,
            repeats=self.repeats,
            workers=self.workers,
            progress=progress,
            resume=resume,
            meanwhile=meanwhile,
        )

    def keep(self, scenario: Scenario, text: str, progress: Progress | None = None) -> Record:
        """Run one passage of the whole line with its frames; ``text`` is the scenario as TOML."""
        size = scenario.size(self.size).name
        return run_passage(
            loaded_track(scenario, size, self.can_friction),
            seed=self._seed(scenario),
            cans=self.cans,
            size=size,
            scenario=text,
            frame_every_s=FRAME_EVERY_S,
            progress=None if progress is None else lambda share: progress(share, 1),
        )

    def _whole_line(self, scenario: Scenario, size: str) -> bool:
        if self.whole_line is not None:
            return self.whole_line
        room = room_along(scenario, size)
        return room.slices_hold or room.cans_close_up

    def _seed(self, scenario: Scenario) -> int:
        return scenario.seed if self.seed is None else self.seed
