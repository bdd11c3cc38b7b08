"""Where the cans come from: a passage that runs, or a recorded one that can be watched again.

A source steps on and back, holds two frames, and counts. Packsim computes; nothing is computed
here.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.chance.now import tips_per_s
from packsim.passage import Event, Frame
from packsim.passage.fall import Rocks, rocks_of
from packsim.passage.frames import EVERYWHERE, frame_of
from packsim.passage.state import State
from packsim.passage.step import DT_S, start, step
from packsim.passage.track import Track
from viewer.line import Answers, LineMap, LoadedLine
from viewer.session.counted import Counted
from viewer.session.moment import Moment, own_bytes, slack_measured, tip_angle_of, track_line
from viewer.session.playback import Kept
from viewer.session.replay import Replay

MEASURE_EVERY_S = 0.5
"""The slack of the running pack is measured this often [s]."""


Taken = tuple[Moment, tuple[float, float], Frame]
"""A moment, the stations between which its leans were asked for [mm], and its frame."""


class Live:
    """A passage that runs, of a line and the size on it; its last moments can be seen again."""

    _taken: tuple[Taken, Taken]

    def __init__(self, loaded: LoadedLine, seed: int, counted: Counted | None = None) -> None:
        self.dt_s = DT_S
        self.seed = seed
        self.counted = counted or Counted()
        self._asked_mm = EVERYWHERE
        self._rng = np.random.default_rng(seed)
        self._looks = np.random.default_rng([seed, 1])  # looking must not move the pack
        self._begin(loaded)

    def _begin(self, loaded: LoadedLine) -> None:
        line = track_line(loaded)
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
            measured=slack_measured(line, state),
        )
        self._kept = Kept(first)
        self._show(single=False)
        self.run = self.counted.begin(state.time_s, loaded)
        self._count = self.run.count_of(loaded)

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
    def tips(self) -> NDArray[np.int64]:
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
        return tip_angle_of(self.frame, self._kept.now.line.track, i)

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
    def track(self) -> Track:
        """The line as the passage has it."""
        return self._kept.now.line.track

    @property
    def state(self) -> State:
        """The pack now."""
        return self._kept.now.state

    @property
    def moment(self) -> Moment:
        """The present, to begin again from."""
        return self._kept.now

    def begin_at(self, moment: Moment) -> None:
        """Begin again from a moment; nothing before it is kept."""
        if moment is not self._kept.now:
            self.run = self.counted.begin(moment.state.time_s, moment.line.loaded)
            self._count = self.run.count_of(moment.line.loaded)
        self._kept = Kept(moment)
        self._show(single=False)

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
            self._show(single=count == 1)

    def ask(self, low_mm: float, high_mm: float) -> None:
        """Ask for the leans between two stations, now and later; others may be left out."""
        self._asked_mm = low_mm, high_mm
        before, now = self._taken
        self._taken = self._knowing(before), self._knowing(now)

    def _show(self, *, single: bool) -> None:
        """Take the frame of the present; the one before it stays after a single step."""
        after = self._take(self._kept.now)
        self._taken = (self._taken[1] if single else after), after

    def _take(self, moment: Moment) -> Taken:
        return moment, self._asked_mm, frame_of(moment.state, moment.line.track, self._asked_mm)

    def _knowing(self, taken: Taken) -> Taken:
        """Return what was taken, anew where it does not know what is asked for now."""
        moment, (low, high), _ = taken
        known = low <= self._asked_mm[0] and self._asked_mm[1] <= high
        return taken if known else self._take(moment)

    @property
    def frame(self) -> Frame:
        """The pack now, with the leans asked for."""
        return self._taken[1][2]

    @property
    def before(self) -> Frame:
        """The pack a step before, or now after other moves."""
        return self._taken[0][2]

    def _go_on(self) -> None:
        """Make the step after the present moment, which may be one gone back to."""
        now, track = self._kept.now, self._kept.now.line.track
        self._rng.bit_generator.state = now.draws
        state, events = step(now.state, track, self.dt_s, self._rng)
        self._count.tips += (state.tips - now.state.tips).sum(axis=1)
        self._count.cans += state.cans_in - now.state.cans_in
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
                measured=slack_measured(now.line, state),
            )
            self.run.note(state.time_s, state.tips.sum(axis=1), later.measured[0])
        self._kept.add(later, own_bytes(state, now.state))

    def retune(self, loaded: LoadedLine, *, restart: bool) -> None:
        """Go on from what is shown with a changed line, or start again with it.

        Raises `InputError` if packsim refuses it; the passage then goes on as before.
        """
        if restart:
            self._begin(loaded)
            return
        line, now = track_line(loaded), self._kept.now
        # a step without time: the guides push the pack where they now stand
        self._rng.bit_generator.state = now.draws
        state, _ = step(now.state, line.track, 0.0, self._rng)
        draws, measured = self._rng.bit_generator.state, now.measured
        if not line.track.stands_as(now.line.track):  # else it stays until the next look
            measured = slack_measured(line, state)
        self.run.change(state.time_s, now.line.loaded, loaded)
        self._count = self.run.count_of(loaded)
        self._kept.put(replace(now, line=line, state=state, draws=draws, measured=measured))
        self._show(single=False)


Source = Live | Replay
"""Where the cans of a pack come from."""
