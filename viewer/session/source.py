"""Where the cans come from: a passage that runs, or a recorded one that can be watched again.

A source steps on and back, holds two frames, and counts. Packsim computes; nothing is computed
here.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.chance import kept_chance
from packsim.chance.now import tips_per_s
from packsim.errors import InputError
from packsim.passage import PLACES, Event, Frame, Record
from packsim.passage.fall import Rocks, rocks_of
from packsim.passage.frames import frame_of
from packsim.passage.near import Near
from packsim.passage.profile import empty_tally, mean_profile, tallied
from packsim.passage.state import State
from packsim.passage.step import DT_S, start, step
from packsim.passage.track import Track, loaded_track
from viewer.line import Answers, LineMap, LoadedLine, answers_of, map_line
from viewer.session.playback import Kept

Counts = NDArray[np.int64]

MEASURE_EVERY_S = 0.5
"""The slack of the running pack is measured this often [s]."""


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A line as packsim has it: answers of its stages, what a passage needs, what stands along."""

    loaded: LoadedLine
    answers: Answers
    track: Track
    line_map: LineMap


def _line(loaded: LoadedLine) -> _Line:
    track = loaded_track(loaded.scenario, loaded.size)
    faces = track.station_mm, track.left_mm, track.right_mm
    return _Line(loaded, answers_of(loaded), track, map_line(loaded.scenario, loaded.can, *faces))


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A passage after a step: all that it takes to show it, and to go on from it as before.

    ``draws`` and ``looks`` are the states of its two generators, ``measured`` the mean slack and
    the mean widest gap of every stage [mm] as they were at ``looked_s``.
    """

    line: _Line
    state: State
    events: tuple[Event, ...]
    draws: Mapping[str, Any]
    looks: Mapping[str, Any]
    expected: float
    looked_s: float
    measured: tuple[Floats, Floats]


class Live:
    """A passage that runs, of a line and the size on it; its last moments can be seen again."""

    def __init__(self, loaded: LoadedLine, seed: int) -> None:
        self.dt_s = DT_S
        self.seed = seed
        self._rng = np.random.default_rng(seed)
        self._looks = np.random.default_rng([seed, 1])  # looking must not move the pack
        self._begin(loaded)

    def _begin(self, loaded: LoadedLine) -> None:
        line = _line(loaded)
        rng = np.random.default_rng(self.seed)
        looks = np.random.default_rng([self.seed, 1]).bit_generator.state
        state = start(line.track, rng)
        first = Moment(
            line=line,
            state=state,
            events=(),
            draws=rng.bit_generator.state,
            looks=looks,
            expected=0.0,
            looked_s=state.time_s,
            measured=_measured(line, state),
        )
        self._kept = Kept(first)
        self.frame = self.before = frame_of(state, line.track)

    @property
    def loaded(self) -> LoadedLine:
        """The line, and the size on it."""
        return self._kept.now.line.loaded

    @property
    def answers(self) -> Answers:
        """The answers of its stages."""
        return self._kept.now.line.answers

    @property
    def line_map(self) -> LineMap:
        """What stands along it."""
        return self._kept.now.line.line_map

    @property
    def events(self) -> tuple[Event, ...]:
        """The cans that tipped so far, in order."""
        return self._kept.now.events

    @property
    def tips(self) -> Counts:
        """Cans tipped by stage and place, shape (k, 3)."""
        return self._kept.now.state.tips

    @property
    def flow(self) -> tuple[int, int]:
        """Cans that came in and went out so far."""
        state = self._kept.now.state
        return state.cans_in, state.cans_out

    @property
    def expected_per_million(self) -> float:
        """Tips to be expected so far per million cans that came in; nan without a can."""
        now = self._kept.now
        return 1e6 * now.expected / now.state.cans_in if now.state.cans_in else math.nan

    @property
    def jammed_mm(self) -> float:
        """Worst overlap the last step left [mm]."""
        return self._kept.now.state.overlap_mm

    @property
    def slack_now(self) -> tuple[Floats, Floats]:
        """Measured mean slack and mean widest gap of every stage [mm]."""
        return self._kept.now.measured

    @property
    def reach(self) -> tuple[int, int]:
        """How many steps back can be seen again, and how many were made after what is shown."""
        return self._kept.reach

    def tip_angle_rad(self, i: int) -> float:
        """Return the balance angle of a can of the frame where it is, as it leans [rad]."""
        return _tip_angle_rad(self.frame, self._kept.now.line.track, i)

    def rocks(self, low_mm: float, high_mm: float) -> tuple[float, Rocks] | None:
        """Return when the kicks of the last step came [s], and how cans of a stretch rock by them.

        None where the moment before it is not kept.
        """
        then = self._kept.earlier
        if then is None:
            return None
        rng = np.random.default_rng()
        rng.bit_generator.state = then.draws
        track, can = then.line.track, then.line.loaded.can
        rocks = rocks_of(then.state, track, can, self.dt_s, rng, (low_mm, high_mm))
        return then.state.time_s, rocks

    @property
    def moment(self) -> Moment:
        """The present, to begin again from."""
        return self._kept.now

    def begin_at(self, moment: Moment) -> None:
        """Begin again from a moment; nothing before it is kept."""
        self._kept = Kept(moment)
        self.frame = self.before = self._seen()

    def step(self, count: int) -> None:
        """Go on by some steps of ``dt_s``, or back by as many as are kept where negative.

        What was seen before is shown again, with the line as it was then; beyond it the passage
        goes on. The frame before the last is kept for a single step.
        """
        if count < 0:
            self._kept.move(count)
        for _ in range(count):
            if self._kept.move(1) == 0:
                self._go_on()
        if count != 0:
            after = self._seen()
            self.before = self.frame if count == 1 else after
            self.frame = after

    def _seen(self) -> Frame:
        now = self._kept.now
        return frame_of(now.state, now.line.track)

    def _go_on(self) -> None:
        """Make the step after the present moment, which may be one gone back to."""
        now, track = self._kept.now, self._kept.now.line.track
        self._rng.bit_generator.state = now.draws
        state, events = step(now.state, track, self.dt_s, self._rng)
        draws = self._rng.bit_generator.state
        later = replace(now, state=state, events=now.events + events, draws=draws)
        if state.time_s >= now.looked_s + MEASURE_EVERY_S - 1e-9:
            self._looks.bit_generator.state = now.looks
            tips = tips_per_s(state, track, self._looks)
            later = replace(
                later,
                looks=self._looks.bit_generator.state,
                expected=now.expected + tips * (state.time_s - now.looked_s),
                looked_s=state.time_s,
                measured=_measured(now.line, state),
            )
        self._kept.add(later, _own_bytes(state, now.state))

    def retune(self, loaded: LoadedLine, *, restart: bool) -> None:
        """Go on from what is shown with a changed line, or start again with it.

        Raises `InputError` if packsim refuses it; the passage then goes on as before.
        """
        if restart:
            self._begin(loaded)
            return
        line, now = _line(loaded), self._kept.now
        # a step without time: the guides push the pack where they now stand
        self._rng.bit_generator.state = now.draws
        state, _ = step(now.state, line.track, 0.0, self._rng)
        draws, measured = self._rng.bit_generator.state, _measured(line, state)
        self._kept.put(replace(now, line=line, state=state, draws=draws, measured=measured))
        self.frame = self.before = self._seen()


def _tip_angle_rad(frame: Frame, track: Track, i: int) -> float:
    along = frame.x_mm[i : i + 1] if frame.station_mm == 0.0 else np.array([frame.station_mm])
    x, y, turned = (
        values.astype(np.float64)
        for values in (along, frame.y_mm[i : i + 1], frame.direction_rad[i : i + 1])
    )
    return float(track.standing.load.at(x, y, turned)[0][0])


def _measured(line: _Line, state: State) -> tuple[Floats, Floats]:
    """Mean slack and mean widest gap of every stage, shape (k,) each [mm]."""
    track = line.track
    profile = mean_profile(tallied(empty_tally(track), state, track), track)
    stage = np.searchsorted(track.bounds_mm, profile.station_mm, side="right") - 1
    slack, gap = (
        np.array([_mean(values[stage == i]) for i in range(len(track.stages))])
        for values in (profile.slack_mm, profile.largest_gap_mm)
    )
    return slack, gap


def _own_bytes(state: State, before: State) -> int:
    """Memory of the arrays of a state that the one before it does not hold too."""
    pairs = [(getattr(state, n.name), getattr(before, n.name)) for n in fields(State)]
    pairs += [(getattr(state.near, n.name), getattr(before.near, n.name)) for n in fields(Near)]
    return sum(new.nbytes for new, old in pairs if isinstance(new, np.ndarray) and new is not old)


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

    @cached_property
    def _track(self) -> Track:
        return loaded_track(self.loaded.scenario, self.loaded.size)

    def tip_angle_rad(self, i: int) -> float:
        """Return the balance angle of a can of the frame where it is, as it leans [rad]."""
        return _tip_angle_rad(self.frame, self._track, i)

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


Source = Live | Replay
"""Where the cans of a pack come from."""
