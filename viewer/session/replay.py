"""A recorded passage that is watched again, from one kept frame to the next."""

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.chance import kept_chance
from packsim.errors import InputError
from packsim.passage import PLACES, Record
from packsim.passage.fall import state_of
from packsim.passage.state import State
from packsim.passage.track import Track, loaded_track
from viewer.line import LoadedLine, answers_of, map_line
from viewer.session.moment import tip_angle_of


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

    @cached_property
    def track(self) -> Track:
        """The line as the passage had it."""
        return loaded_track(self.loaded.scenario, self.loaded.size)

    @property
    def state(self) -> State:
        """The pack as the frame shown has it."""
        return state_of(self.frame, self.track)

    def tip_angle_rad(self, i: int) -> float:
        """Return the balance angle of a can of the frame where it is, as it leans [rad]."""
        return tip_angle_of(self.frame, self.track, i)

    @property
    def tips(self) -> NDArray[np.int64]:
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
    def reach(self) -> tuple[int, int]:
        """How many frames there are before the one shown, and after it."""
        return self._at, len(self.record.frames) - 1 - self._at

    def step(self, count: int) -> None:
        """Show a later frame, or an earlier one where negative; the ends stay."""
        back, ahead = self.reach
        if count != 0:
            self._show(self._at + min(max(count, -back), ahead))

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
        now_s = self.frame.time_s + 1e-9
        self.events = tuple(e for e in self.record.events if e.time_s <= now_s)
