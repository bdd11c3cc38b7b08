"""Where the cans come from: a passage that runs, or a recorded one that can be watched again.

A source steps, holds the last two frames, and counts. Packsim computes; nothing is computed here.
"""

import math

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.chance import kept_chance
from packsim.chance.now import tips_per_s
from packsim.errors import InputError
from packsim.passage import PLACES, Event, Record
from packsim.passage.frames import frame_of
from packsim.passage.profile import empty_tally, mean_profile, tallied
from packsim.passage.step import DT_S, start, step
from packsim.passage.track import loaded_track
from viewer.line import LoadedLine, answers_of, map_line

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
        self._looks = np.random.default_rng([self.seed, 1])  # looking must not move the pack
        self._expected, self._looked_s = 0.0, self._state.time_s
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
    def expected_per_million(self) -> float:
        """Tips to be expected so far per million cans that came in; nan without a can."""
        return 1e6 * self._expected / self._state.cans_in if self._state.cans_in else math.nan

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
                tips = tips_per_s(self._state, self._track, self._looks)
                self._expected += tips * (after.time_s - self._looked_s)
                self._looked_s = after.time_s

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


def _mean(values: Floats) -> float:
    seen = values[np.isfinite(values)]
    return float(seen.mean()) if seen.size else float("nan")


class Replay:
    """A passage recorded with at least one frame; it can be watched, not changed.

    ``expected_per_million`` is the chance of a tip on its line where that is kept, nan elsewhere.
    """

    def __init__(self, record: Record, loaded: LoadedLine) -> None:
        if not record.frames:
            raise InputError("record", "no frame", "a passage recorded with frames")
        self.record, self.loaded = record, loaded
        self.dt_s = record.interval_s
        self.answers = answers_of(loaded)
        faces = record.station_mm, record.left_mm, record.right_mm
        self.line_map = map_line(loaded.scenario, loaded.can, *faces)
        kept = kept_chance(loaded.scenario, loaded.size)
        self.expected_per_million = math.nan if kept is None else kept.tips_per_million
        self._at = 0
        self._show(0)

    @property
    def tips(self) -> Counts:
        """Cans tipped by stage and place up to the frame shown, shape (k, 3)."""
        counts = np.zeros((len(self.record.stages), len(PLACES)), dtype=np.int64)
        for event in self.events:
            counts[event.stage, PLACES.index(event.place)] += 1
        return counts

    @property
    def flow(self) -> tuple[int, int]:
        """Cans that came in and went out up to the frame shown."""
        numbers = self.frame.id
        if not len(numbers):
            return self.record.cans_in, self.record.cans_out
        fed = int(numbers.max()) + 1  # the newest can is on the mat, and none is ever lost
        return fed, fed - len(numbers)

    @property
    def jammed_mm(self) -> float:
        """Worst overlap of the whole passage, once its jam was seen [mm]."""
        seen = [jam.overlap_mm for jam in self.record.jams if jam.since_s <= self.frame.time_s]
        return max(seen, default=0.0)

    @property
    def slack_now(self) -> tuple[Floats, Floats]:
        """Unknown: a record keeps no state to measure, shape (k,) each [mm]."""
        unknown = np.full(len(self.record.stages), np.nan)
        return unknown, unknown

    @property
    def ended(self) -> bool:
        """Whether the last frame is shown."""
        return self._at == len(self.record.frames) - 1

    def step(self, count: int) -> None:
        """Show a later frame; the last one stays."""
        if count > 0:
            self._show(min(self._at + count, len(self.record.frames) - 1))

    def retune(self, loaded: LoadedLine, *, restart: bool) -> None:
        """Go back to the first frame; raise `InputError` for another line: what happened stays."""
        if loaded != self.loaded:
            raise InputError("line", "a change", "a running passage: this one was recorded")
        if restart:
            self._at = 0
            self._show(0)

    def _show(self, at: int) -> None:
        frames = self.record.frames
        self.before = frames[at] if at != self._at + 1 else frames[self._at]
        self._at, self.frame = at, frames[at]
        self.events = [e for e in self.record.events if e.time_s <= self.frame.time_s + 1e-9]


Source = Live | Replay
"""Where the cans of a pack come from."""
