"""A tip held to be looked at: how the room opened, the kick, how the can turned and went down."""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from packsim.answers.stage_pack import clear_headers
from packsim.arrays import Floats
from packsim.line import Header
from packsim.passage.fall import Fall, fall_of, room_then
from packsim.spray.jets import footprint_of
from packsim.spray.spray_load import upright_load
from viewer.line import index_of
from viewer.session.replay import Replay
from viewer.session.session import Session
from viewer.session.source import Source

LEAD_S = 2.0
"""A show begins this long before the kick, if so much is kept: the room opens in that time [s]."""

REST_S = 0.15
"""And ends this long after the can is down, in time of the passage [s]."""

SLOW = 0.04
"""Seconds of the fall that pass in one second of the show."""

SLOW_BEFORE_S = 0.05
"""The show is slow from this long before the kick [s]."""

OF_SLICE = (
    "a tip of a recorded slice cannot be shown: record a whole line with packsim run --record"
)
"""Said of a recording of `packsim.run_passage` with a length of slice."""


@dataclass
class TipShow:
    """One tip, and how far its show is.

    ``pack`` is the pack it is in, ``number`` which of its tips, from 0. ``push`` are the sprays
    from above and from below on the can as it stood, shape (2, 3), see `upright_load`. ``shown_s``
    is the time since the kick, below 0 before it, and ``gap_mm`` the gap then; ``was_running`` is
    whether the passage goes on, from ``from_s``, when the show is closed, ``picked`` the can picked
    before.
    """

    pack: int
    number: int
    fall: Fall
    push: Floats
    was_running: bool
    from_s: float
    first_s: float
    shown_s: float
    gap_mm: float
    first_gap_mm: float
    running: bool = True
    picked: int | None = None

    @property
    def last_s(self) -> float:
        """When the show ends, counted from the kick [s]."""
        return self.fall.swing.lasts_s + REST_S

    @property
    def balance_s(self) -> float:
        """When the can passes its balance angle [s]."""
        swing = self.fall.swing
        return float(np.interp(self.fall.leaners.balance_rad[0], swing.lean_rad, swing.time_s))

    @property
    def past(self) -> bool:
        """Whether the can is past its balance angle."""
        return self.shown_s >= self.balance_s

    def share_of(self, at_s: float) -> float:
        """Return how much of the show has passed at a time from the kick, 0..1 [-]."""
        return self._showing_s(at_s) / self._showing_s(self.last_s)

    def at_share(self, share: float) -> float:
        """Return the time from the kick at a share of the show [s]."""
        showing = share * self._showing_s(self.last_s)
        fast = max(0.0, -SLOW_BEFORE_S - self.first_s)
        return self.first_s + min(showing, fast) + SLOW * max(0.0, showing - fast)

    def _showing_s(self, at_s: float) -> float:
        """Seconds of the show up to a time from the kick, at a playback speed of 1."""
        slow = max(self.first_s, -SLOW_BEFORE_S)
        return min(at_s, slow) - self.first_s + max(0.0, at_s - slow) / SLOW

    @property
    def pace(self) -> float:
        """Seconds of the passage in one second of the show, at a playback speed of 1."""
        return SLOW if self.shown_s >= -SLOW_BEFORE_S else 1.0


def show_tip(session: Session, pack: int, number: int) -> bool:
    """Hold a tip and show it from the start; return whether that can be done."""
    close_tip(session)
    source = session.packs[pack].source
    if isinstance(source, Replay) and source.record.slice_mm > 0.0:
        # its frames tell places in the slice, its tips places on the line
        session.say(OF_SLICE)
        return False
    event = source.events[number]
    was_running, now_s = session.clock.running, source.frame.time_s
    _go_before(session, source, event.time_s)
    missed_s = event.time_s - source.frame.time_s
    if not -1e-6 < missed_s < source.dt_s or index_of(source.frame, event.can) is None:
        session.go_to(now_s)
        session.say("that tip is too long ago, or too soon: its moments are not kept")
        return False
    first_s = -min(LEAD_S, session.reach[0] * source.dt_s)
    session.clock = replace(session.clock, running=False, owed_s=0.0)
    track = source.track
    stance = source.loaded.can.stance(track.standing.water_in_dome[event.stage])
    fall = fall_of(source.state, track, event, stance)
    push = push_on(source, event.x_mm, event.y_mm)
    show = TipShow(
        pack,
        number,
        fall,
        push,
        was_running=was_running,
        from_s=now_s,
        first_s=first_s,
        shown_s=first_s,
        gap_mm=event.gap_mm,
        first_gap_mm=event.gap_mm,
        picked=session.packs[pack].picked,
    )
    session.tip, session.stage, session.packs[pack].picked = show, event.stage, event.can
    at_tip(session, show, first_s)
    show.first_gap_mm = show.gap_mm
    return True


@lru_cache(maxsize=256)
def _reach_mm(header: Header, height_mm: float) -> float:
    """Return how far along the line from it a header's spray lands at most [mm]."""
    return footprint_of(header, height_mm).half_along_mm


def push_on(source: Source, x_mm: float, y_mm: float) -> Floats:
    """Return push and turning moments of the headers above and below on a can, see `upright_load`.

    Shape (2, 3) [N], [N·mm]; the can stands at a place of the line.
    """
    scenario, can = source.loaded.scenario, source.loaded.can
    number = source.line_map.stage_at(x_mm)
    stage, start = scenario.stages[number], float(source.line_map.bounds_mm[number])
    headers = [
        header
        for header in clear_headers(stage, can.height_mm)
        if abs(header.station_mm - (x_mm - start))
        < _reach_mm(header, can.height_mm) + can.diameter_mm
    ]
    x, y = np.array([x_mm - start]), np.array([y_mm])
    body, open_area = can.stance(), scenario.mat.open_fraction
    sides = ([h for h in headers if h.side == side] for side in ("above", "below"))
    return np.array([upright_load(each, body, open_area, x, y)[:, 0] for each in sides])


def at_tip(session: Session, show: TipShow, shown_s: float) -> None:
    """Go to a time of the show, counted from the kick [s]."""
    show.shown_s = min(max(shown_s, show.first_s), show.last_s)
    source = session.packs[show.pack].source
    event = show.fall.event
    # the step in which it tips begins at the kick: until it is down the moment before is shown
    _go_before(session, source, event.time_s + min(show.shown_s, 0.0))
    show.gap_mm = event.gap_mm
    if show.shown_s < 0.0 and index_of(source.frame, event.can) is not None:
        show.gap_mm = room_then(source.state, source.track, event)[0]


def _go_before(session: Session, source: Source, time_s: float) -> None:
    """Show the moment that is kept at a time, or the last before it [s]."""
    steps = math.floor((time_s - source.frame.time_s) / source.dt_s + 1e-6)
    session.step(min(steps, session.reach[1]))


def follow_tip(session: Session, show: TipShow, passed_s: float) -> None:
    """Let time pass in a show; it stands still at its end."""
    if show.running:
        at_tip(session, show, show.shown_s + passed_s * show.pace * session.clock.speed)
        show.running = show.shown_s < show.last_s


def close_tip(session: Session) -> None:
    """End the show that is on, if one is; the passage goes on where it was."""
    show, session.tip = session.tip, None
    if show is not None:
        session.packs[show.pack].picked = show.picked
        session.go_to(show.from_s)
        now = session.clock
        session.clock = replace(now, running=show.was_running, owed_s=0.0)
