"""One moment of a passage, on the line as it was then: enough to go on from it as before."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from packsim.arrays import Floats
from packsim.pack.near import Near
from packsim.passage import Event, Frame
from packsim.passage.profile import empty_tally, mean_profile, tallied
from packsim.passage.state import State
from packsim.passage.track import Track, loaded_track
from viewer.line import Answers, LineMap, LoadedLine, answers_of, map_line


@dataclass(frozen=True, slots=True, eq=False)
class TrackedLine:
    """A line as packsim has it: answers of its stages, what a passage needs, what stands along."""

    loaded: LoadedLine
    answers: Answers
    track: Track
    line_map: LineMap


def track_line(loaded: LoadedLine) -> TrackedLine:
    """Ask packsim about a line; `InputError` where a pack cannot be run on it."""
    track = loaded_track(loaded.scenario, loaded.size)
    faces = track.station_mm, track.left_mm, track.right_mm
    return TrackedLine(
        loaded, answers_of(loaded), track, map_line(loaded.scenario, loaded.can, *faces)
    )


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A passage after a step: all that it takes to show it, and to go on from it as before.

    ``draws`` and ``looks`` are the states of its two generators, ``measured`` the mean slack and
    the mean widest gap of every stage [mm] as they were at ``looked_s``.
    """

    line: TrackedLine
    state: State
    events: tuple[Event, ...]
    draws: Mapping[str, Any]
    looks: Mapping[str, Any]
    expected: float
    looked_s: float
    measured: tuple[Floats, Floats]


def slack_measured(line: TrackedLine, state: State) -> tuple[Floats, Floats]:
    """Mean slack and mean widest gap of every stage, shape (k,) each [mm]."""
    track = line.track
    profile = mean_profile(tallied(empty_tally(track), state, track), track)
    stage = np.searchsorted(track.bounds_mm, profile.station_mm, side="right") - 1
    slack, gap = (
        np.array([_mean(values[stage == i]) for i in range(len(track.stages))])
        for values in (profile.slack_mm, profile.largest_gap_mm)
    )
    return slack, gap


def own_bytes(state: State, before: State) -> int:
    """Memory of the arrays of a state that the one before it does not hold too."""
    pairs = [(getattr(state, n.name), getattr(before, n.name)) for n in fields(State)]
    pairs += [(getattr(state.near, n.name), getattr(before.near, n.name)) for n in fields(Near)]
    return sum(new.nbytes for new, old in pairs if isinstance(new, np.ndarray) and new is not old)


def _mean(values: Floats) -> float:
    seen = values[np.isfinite(values)]
    return float(seen.mean()) if seen.size else float("nan")


def tip_angle_of(frame: Frame, track: Track, i: int) -> float:
    """Return the balance angle of can i of a frame where it is, as it leans [rad]."""
    along = frame.x_mm[i : i + 1] if frame.station_mm == 0.0 else np.array([frame.station_mm])
    x, y, turned = (
        values.astype(np.float64)
        for values in (along, frame.y_mm[i : i + 1], frame.direction_rad[i : i + 1])
    )
    return float(track.standing.load.at(x, y, turned)[0][0])
