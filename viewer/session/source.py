"""Where the cans come from: a passage that runs; `viewer.session.replay` has a recorded one.

A source steps, holds the last two frames, and counts. Packsim computes; nothing is computed here.
"""

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.passage import Event
from packsim.passage.frames import frame_of
from packsim.passage.profile import empty_tally, mean_profile, tallied
from packsim.passage.step import DT_S, start, step
from packsim.passage.track import loaded_track
from viewer.line.line_map import map_line
from viewer.line.loaded import LoadedLine, answers_of
from viewer.session.replay import Replay

Counts = NDArray[np.int64]

MEASURE_EVERY_S = 0.5
"""The slack of the running pack is measured this often [s]."""


class Live:
    """A passage that runs, of a line and the size on it."""

    def __init__(self, loaded: LoadedLine, seed: int) -> None:
        self.dt_s = DT_S
        self.seed = seed
        self._begin(loaded)

    def _begin(self, loaded: LoadedLine) -> None:
        self._take(loaded)
        self._rng = np.random.default_rng(self.seed)
        self._state = start(self._track, self._rng)
        self.events: list[Event] = []
        self.frame = self.before = frame_of(self._state, self._track)
        self._measured = self._measure()

    def _measure(self) -> tuple[float, Floats, Floats]:
        track = self._track
        profile = mean_profile(tallied(empty_tally(track), self._state, track), track)
        stage = np.searchsorted(track.bounds_mm, profile.station_mm, side="right") - 1
        slack, gap = (
            np.array([_mean(values[stage == i]) for i in range(len(track.stages))])
            for values in (profile.slack_mm, profile.largest_gap_mm)
        )
        return self._state.time_s, slack, gap

    def _take(self, loaded: LoadedLine) -> None:
        answers = answers_of(loaded)
        track = loaded_track(loaded.scenario, loaded.size)
        self.loaded, self.answers, self._track = loaded, answers, track
        self.line_map = map_line(
            loaded.scenario, loaded.can, track.station_mm, track.left_mm, track.right_mm
        )

    @property
    def tips(self) -> Counts:
        """Cans tipped by stage and place, shape (k, 3)."""
        return self._state.tips

    @property
    def flow(self) -> tuple[int, int]:
        """Cans that came in and went out so far."""
        return self._state.cans_in, self._state.cans_out

    @property
    def jammed_mm(self) -> float:
        """Worst overlap the last step left [mm]."""
        return self._state.overlap_mm

    @property
    def slack_now(self) -> tuple[Floats, Floats]:
        """Measured mean slack and mean widest gap of every stage [mm]."""
        return self._measured[1:]

    def step(self, count: int) -> None:
        """Go on by some steps of ``dt_s``; the frame before the last is kept for a single one."""
        for _ in range(count):
            self._state, events = step(self._state, self._track, self.dt_s, self._rng)
            self.events.extend(events)
        if count > 0:
            after = frame_of(self._state, self._track)
            self.before = self.frame if count == 1 else after
            self.frame = after
            if after.time_s >= self._measured[0] + MEASURE_EVERY_S - 1e-9:
                self._measured = self._measure()

    def retune(self, loaded: LoadedLine, *, restart: bool) -> None:
        """Go on with a changed line, or start again with it.

        Raises `InputError` if packsim refuses it; the passage then goes on as before.
        """
        if restart:
            self._begin(loaded)
            return
        self._take(loaded)
        # a step without time: the guides push the pack where they now stand
        self._state, _ = step(self._state, self._track, 0.0, self._rng)
        self.frame = self.before = frame_of(self._state, self._track)
        self._measured = self._measure()


Source = Live | Replay
"""Where the cans of a pack come from."""


def _mean(values: Floats) -> float:
    seen = values[np.isfinite(values)]
    return float(seen.mean()) if seen.size else float("nan")
