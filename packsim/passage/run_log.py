"""What a run gathers on its way to its record: frames within bounds, the tally, events and jams."""

import math
from dataclasses import dataclass, field, replace

from packsim.passage.frames import frame_of
from packsim.passage.profile import Tally, tallied
from packsim.passage.record import Event, Frame, Jam
from packsim.passage.state import State
from packsim.passage.track import Track

JAM_FACTOR = 10.0
"""A stage is jammed when it keeps an overlap of this many tolerances, or gets it anew ..."""

JAM_S = 1.0
"""... for this long, and is never as long without [s]: a kick into a lane without any room may
take some steps to be undone, and a squeezed pack that was pushed back comes to overlap anew."""


@dataclass(slots=True)
class RunLog:
    """What a run gathers on its way."""

    tally: Tally
    interval_s: float
    frame_bytes: int
    keep_frames: bool = True
    too_narrow: tuple[int, ...] = ()
    frames: list[Frame] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    jams: dict[int, Jam] = field(default_factory=dict)
    kept_bytes: int = 0
    worst_mm: float = 0.0
    unsettled: int = 0
    looks: int = 0
    next_s: float = 0.0
    stuck_s: tuple[float, float] = (0.0, -math.inf)

    def look(self, state: State, track: Track) -> None:
        """Take a frame when one is due; thin them out when they take too much room."""
        if state.time_s + 1e-9 < self.next_s:
            return
        self.tally = tallied(self.tally, state, track)
        self.looks += 1
        self.next_s = state.time_s + self.interval_s
        if self.keep_frames:
            self.take(state, track)

    def take(self, state: State, track: Track, *, last: bool = False) -> None:
        """Take a frame, unless there is one of this moment; the last one is not thinned out."""
        if self.frames and self.frames[-1].time_s >= state.time_s:
            return
        frame = frame_of(state, track)
        self.frames.append(frame)
        self.kept_bytes += frame.nbytes
        while self.kept_bytes > self.frame_bytes and len(self.frames) > 2:
            self.frames = self.frames[::2]
            self.kept_bytes = sum(frame.nbytes for frame in self.frames)
            self.interval_s *= 2.0
            self.next_s = self.frames[-1].time_s + self.interval_s
        if last and self.frames[-1] is not frame:
            self.frames[-1] = frame

    def note(self, state: State, tolerance_mm: float) -> None:
        """Keep the worst overlap; a large one that stays before a place too narrow is a jam.

        Full lanes with room between the guides overlap too, having none along travel; no jam.
        """
        overlap = state.overlap_mm
        self.worst_mm = max(self.worst_mm, overlap)
        self.unsettled += overlap > tolerance_mm
        if overlap <= JAM_FACTOR * tolerance_mm:
            return
        since, last = self.stuck_s
        if state.time_s - last >= JAM_S:
            since = state.time_s
        self.stuck_s = since, state.time_s
        stage = next((i for i in self.too_narrow if i >= state.overlap_stage), None)
        if stage is not None and state.time_s - since >= JAM_S:
            known = self.jams.get(stage, Jam(stage, since, overlap))
            self.jams[stage] = replace(known, overlap_mm=max(overlap, known.overlap_mm))
