"""Run a passage from its beginning to its end and keep the record."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from packsim.errors import InputError, ends_raised, positive
from packsim.passage.frames import frame_of
from packsim.passage.profile import Tally, empty_tally, mean_profile, tallied
from packsim.passage.record import Event, Frame, Jam, Record
from packsim.passage.relax import CAP, TOLERANCE_MM
from packsim.passage.state import State
from packsim.passage.step import DT_S, start, start_slice, step
from packsim.passage.track import Track
from packsim.version import program_version
from packsim.width.guide_faces import LEAD_DIAMETERS

FRAME_BYTES = 64_000_000
"""Most memory the frames of one record take; beyond it every second frame is dropped [byte]."""

Progress = Callable[[float], None]

JAM_FACTOR = 10.0
"""A stage is jammed when it keeps an overlap of this many tolerances, or gets it anew ..."""

JAM_S = 1.0
"""... for this long, and is never as long without [s]: a kick into a lane without any room may
take some steps to be undone, and a squeezed pack that was pushed back comes to overlap anew."""


@dataclass(slots=True)
class _Log:
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


def run_passage(
    track: Track,
    *,
    seed: int | np.random.SeedSequence,
    cans: int | None = None,
    time_s: float | None = None,
    slice_mm: float | None = None,
    dt_s: float = DT_S,
    tolerance_mm: float = TOLERANCE_MM,
    cap: int = CAP,
    frame_every_s: float = 1.0,
    frame_bytes: int = FRAME_BYTES,
    keep_frames: bool = True,
    filled: bool = True,
    progress: Progress | None = None,
    size: str = "",
    scenario: str = "",
) -> Record:
    """Carry a pack through the line and return the record.

    Parameters
    ----------
    track : Track
        The line for one can size.
    seed : int or SeedSequence
        The only source of randomness; the same seed gives the same record, bit for bit.
    cans : int, optional
        Cans to follow from infeed to discharge; the run ends when the last of them has left.
    time_s : float, optional
        Or the length of the run; with neither, a slice runs to the end of the line, and a whole
        line until a can fed at the start would have left [s].
    slice_mm : float, optional
        Length of a periodic slice; the whole line when omitted [mm].
    dt_s, tolerance_mm, cap
        Step and relaxation, see `packsim.passage.step.step`.
    frame_every_s : float
        Time between frames; doubled as often as the memory asks for it [s].
    frame_bytes : int
        Most memory the frames may take [byte].
    keep_frames : bool
        Keep them; without, only the profile and the places across are taken as often, which is
        quicker.
    filled : bool
        Start with a line full of cans.
    progress : callable, optional
        Called now and then with the share done, 0..1.
    size, scenario : str
        For the record.

    Returns
    -------
    Record
        Also when the user interrupts it (`KeyboardInterrupt`), and then marked so. A pack that does
        not fit or jams is in the record, not an exception.

    Raises
    ------
    InputError
        If both ``cans`` and ``time_s`` are given, or one is not above 0.
    """
    _check(cans, time_s, slice_mm)
    positive("dt_s", dt_s)
    positive("frame_every_s", frame_every_s)
    rng = np.random.default_rng(seed)
    log = _Log(empty_tally(track), frame_every_s, frame_bytes, keep_frames, track.too_narrow)
    fits = len(track.infeed) > 0
    if slice_mm is not None and fits:
        state = start_slice(track, rng, slice_mm)
    else:
        state = start(track, rng, filled=filled)
    first = 0 if slice_mm is not None else state.cans_in
    likely_s = _duration_s(track, cans, time_s, slice_mm)
    # a jammed line is left after twice the time it should take
    most_s = likely_s if cans is None else 2.0 * likely_s
    steps = int(np.ceil(most_s / dt_s - 1e-9)) if fits else 0
    interrupted = False
    try:
        with ends_raised():
            for done in range(steps):
                if cans is not None and _all_out(state, first + cans):
                    break
                log.look(state, track)
                state, events = step(state, track, dt_s, rng, tolerance_mm=tolerance_mm, cap=cap)
                log.events.extend(events)
                log.note(state, tolerance_mm)
                if progress is not None and done % 20 == 0:
                    progress(min(1.0, done * dt_s / likely_s))
    except KeyboardInterrupt:
        interrupted = True
    log.look(state, track)
    if keep_frames:  # the end, so that a replay ends with the counts of the record
        log.take(state, track, last=True)
    if progress is not None and not interrupted:
        progress(1.0)
    record = _record(track, state, log, first, interrupted)
    number = seed if isinstance(seed, int) else _number(seed)
    return replace(
        record,
        size=size,
        seed=number,
        scenario=scenario,
        dt_s=dt_s,
        tolerance_mm=tolerance_mm,
        counted=_counted(state, first, cans),
    )


def _check(cans: int | None, time_s: float | None, slice_mm: float | None) -> None:
    if cans is not None and time_s is not None:
        raise InputError("time_s", time_s, "either a number of cans or a time, not both")
    if cans is not None and slice_mm is not None:
        raise InputError("cans", cans, "no number of cans with a slice: its length says how many")
    if cans is not None and (isinstance(cans, bool) or cans < 1):
        raise InputError("cans", cans, "a whole number above 0")
    if time_s is not None:
        positive("time_s", time_s)


def _duration_s(
    track: Track, cans: int | None, time_s: float | None, slice_mm: float | None
) -> float:
    """How long a run takes unless the line jams."""
    if time_s is not None:
        return time_s
    lead = LEAD_DIAMETERS * track.diameter_mm
    infeed = track.infeed
    through = track.length_mm + (0.0 if slice_mm is not None else 3.0 * lead + infeed.length_mm)
    if cans is None:
        return through / track.speed_mm_per_s
    fed = cans / len(infeed) * infeed.length_mm if len(infeed) else 0.0
    return (through + fed) / track.speed_mm_per_s


def _all_out(state: State, stop: int) -> bool:
    """Whether every can below a number has been let go."""
    return state.cans_in >= stop and (len(state) == 0 or int(state.id.min()) >= stop)


def _counted(state: State, first: int, cans: int | None) -> int:
    """Cans from the first counted one on that have left, without a gap between."""
    limit = state.cans_in if len(state) == 0 else int(state.id.min())
    if state.period_mm > 0.0:
        return state.cans_in
    left = max(0, limit - first)
    return left if cans is None else min(left, cans)


def _number(seed: np.random.SeedSequence) -> int:
    return int(seed.generate_state(1, np.uint64)[0])


def _record(track: Track, state: State, log: _Log, first: int, interrupted: bool) -> Record:
    return Record(
        size="",
        seed=0,
        version=program_version(),
        scenario="",
        stages=track.stages,
        bounds_mm=tuple(float(bound) for bound in track.bounds_mm),
        station_mm=track.station_mm,
        left_mm=track.left_mm,
        right_mm=track.right_mm,
        frames=tuple(log.frames),
        interval_s=log.interval_s,
        events=tuple(log.events),
        tipped=state.tips,
        kicks=state.kicks,
        across=log.tally.across,
        cans_in=state.cans_in,
        cans_out=state.cans_out,
        on_mat=len(state),
        time_s=state.time_s,
        dt_s=0.0,
        tolerance_mm=0.0,
        max_overlap_mm=log.worst_mm,
        first_counted=first,
        unsettled=log.unsettled,
        jams=tuple(log.jams[key] for key in sorted(log.jams)),
        profile=mean_profile(log.tally, track) if log.looks else None,
        slice_mm=state.period_mm,
        interrupted=interrupted,
        reason=track.infeed.reason,
        waiting=_waiting(track, state),
    )


def _waiting(track: Track, state: State) -> int:
    """Cans of the pack that the infeed could not place."""
    cans = len(track.infeed)
    return round(state.held_up_mm / track.infeed.length_mm * cans) if cans else 0
