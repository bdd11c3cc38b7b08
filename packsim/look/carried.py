"""A seen pack carried on by the passage: how the line shakes its cans, and a passage to play."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packsim.line import Scenario
from packsim.look.beside import line_as_seen
from packsim.look.known import Known
from packsim.look.measure import Looked
from packsim.look.moves import against_neighbours
from packsim.look.over_time import Filmed
from packsim.pack.state import Pack
from packsim.passage.infeed import infeed_as_seen
from packsim.passage.record import Record
from packsim.passage.run import Progress, run_passage
from packsim.passage.step import DT_S, start_slice, step
from packsim.passage.track import Track, loaded_track

_SHAKEN_S: Final = 12.0
"""Longest time the slice is shaken for [s]: some thousand moves."""

_LEAST_MM: Final = 600.0
"""Shortest slice; a shorter stretch of seen pack is laid more than once [mm]."""

FRAME_EVERY_S: Final = 1.0
"""Time between the frames of a passage that is kept to be played [s]."""


@dataclass(frozen=True, slots=True)
class Shaken:
    """How the line shakes the very cans that were filmed, beside how they were seen to shake.

    Parameters
    ----------
    across_mm, along_mm : float
        Root mean square of how far a can moves against its neighbours in one second, as the
        passage carries the seen cans through the stage with the scenario's kicks [mm].
    step_now_mm : float
        Step of a kick in the scenario, along each axis [mm].
    kick_step_mm : Known or None
        That step at which the line would shake the cans across as was seen: cans in a pack stop
        each other, so that they move less than kicks push them. None where shaking is not told
        [mm].
    """

    across_mm: float
    along_mm: float
    step_now_mm: float
    kick_step_mm: Known | None


def shaken_on_line(scenario: Scenario, stage: str, size: str, filmed: Filmed) -> Shaken | None:
    """Shake the seen cans as the scenario says, and say which step of a kick fits the film.

    Parameters
    ----------
    scenario : Scenario
        The line.
    stage, size : str
        Where the film was taken, and of which size.
    filmed : Filmed
        What it says.

    Returns
    -------
    Shaken or None
        None where shaking was not told, no stretch of pack repeats, or the scenario has no kicks
        there.

    Notes
    -----
    Taken from one step: how far cans move goes nearly in proportion to the step of a kick as long
    as that is short against the gaps.
    """
    seen, pack = filmed.shake_across_mm, filmed.typical.pack
    kicks = scenario.stage(stage).kicks
    if seen is None or pack is None or not kicks.rate_per_s or not kicks.step_mm:
        return None
    line = line_as_seen(scenario, stage, filmed.typical)
    line = line.with_stages((line.stage(stage),))
    track = _as_seen(loaded_track(line, size), pack)
    along, across = _shaken_mm(track, scenario.seed, filmed.interval_s or DT_S)
    times = kicks.step_mm / across if across else 0.0
    told = times > 0.0 and seen.value > seen.within
    step_mm = Known(seen.value * times, seen.within * times) if told else None
    return Shaken(across, along, kicks.step_mm, step_mm)


def _shaken_mm(track: Track, seed: int, interval_s: float) -> tuple[float, float]:
    """Root mean square of moves in a second, along and across, from looks so far apart [mm]."""
    rng = np.random.default_rng(seed)
    state = start_slice(track, rng, max(_LEAST_MM, 4.0 * track.diameter_mm))
    time_s = min(_SHAKEN_S, 0.9 * track.length_mm / track.speed_mm_per_s)
    each = min(max(1, round(interval_s / DT_S)), max(1, int(time_s / DT_S)))
    looks = max(1, int(time_s / DT_S / each))
    squares = np.zeros(2)
    for _ in range(looks):
        before = state.place_mm
        for _ in range(each):
            state, _events = step(state, track, DT_S, rng, tips=False)
        moved = state.place_mm - before
        places, moves = (np.column_stack((one.real, one.imag)) for one in (before, moved))
        squares += (against_neighbours(places, moves) ** 2).mean(axis=0)
    along, across = np.sqrt(squares / (looks * each * DT_S)).tolist()
    return along, across


def passage_as_seen(
    scenario: Scenario,
    size: str,
    looked: Looked,
    text: str,
    progress: Progress | None = None,
) -> Record | None:
    """Carry the very cans of a picture through the line, one stretch of them after the other.

    Parameters
    ----------
    scenario : Scenario
        The line as it was seen, see `line_as_seen`.
    size : str
        The can size.
    looked : Looked
        What the picture says.
    text : str
        The scenario as TOML, for the record.
    progress : callable, optional
        Called now and then with the share done, 0..1.

    Returns
    -------
    Record or None
        With frames to play back; None where no stretch of the pack repeats.
    """
    if looked.pack is None:
        return None
    return run_passage(
        _as_seen(loaded_track(scenario, size), looked.pack),
        seed=scenario.seed,
        size=size,
        scenario=text,
        frame_every_s=FRAME_EVERY_S,
        progress=progress,
    )


def _as_seen(track: Track, pack: Pack) -> Track:
    """Return a track whose infeed feeds a seen pack."""
    faces = float(track.left_mm[0]), float(track.right_mm[0])
    return replace(track, infeed=infeed_as_seen(track.infeed, pack, *faces))
