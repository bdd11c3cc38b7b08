"""The clock of the picture: what is due at a given time, and what is kept to be seen again.

It never reads a clock itself: time is an argument, so that a session can be replayed exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import nan
from typing import Generic, TypeVar

import numpy as np

from packsim.errors import positive
from packsim.passage import Frame

SPEEDS = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""Shown seconds per second."""

MAX_STEPS = 8
"""Most simulation steps per picture where nobody measures what they cost: a machine too slow for
the speed shows a slower passage instead of freezing."""

MEASURE_S = 1.0
"""The speed is measured over so long [s]."""

KEEPS_UP = 0.9
"""A machine that reaches this share of a speed keeps up with it [-]."""


def clock_words(time_s: float) -> str:
    """Return a time of the passage as minutes and seconds.

    Examples
    --------
    >>> clock_words(59.97), clock_words(125.0)
    ('1:00.0', '2:05.0')
    """
    minutes, tenths = divmod(round(10.0 * time_s), 600)
    return f"{minutes}:{tenths / 10.0:04.1f}"


@dataclass(frozen=True, slots=True)
class Playback:
    """Turns time that passes into simulation steps of ``dt_s``.

    ``speed`` is in shown seconds per second, one of `SPEEDS`; ``seen_s`` when it was last asked,
    None before the first time; ``owed_s`` the time shown but not yet stepped over, less than a
    step. ``shown_s`` is how long the picture has shown at the speed it says: the time that passed,
    less where the steps did not keep up. ``measured`` is the speed of the last `MEASURE_S`, nan
    before; ``mark_s`` are time and ``shown_s`` when that was last measured, ``short`` how often in
    a row it fell short.
    """

    dt_s: float
    speed: float = 1.0
    running: bool = True
    seen_s: float | None = None
    owed_s: float = 0.0
    shown_s: float = 0.0
    measured: float = nan
    mark_s: tuple[float, float] | None = None
    short: int = 0

    def __post_init__(self) -> None:
        positive("dt_s", self.dt_s)
        positive("speed", self.speed)

    def at(self, now_s: float, most: int | None = MAX_STEPS) -> tuple[Playback, int]:
        """Return the clock at a time, and how many steps became due since the last.

        No more than ``most``, the rest is forgotten; None where nobody waits, as in a capture,
        which must show the speed it says.

        Examples
        --------
        >>> clock, _ = Playback(0.05).at(10.0)
        >>> clock.at(10.125)[1]
        2
        """
        if not self.running:
            return self.still(now_s), 0
        passed = 0.0 if self.seen_s is None else max(0.0, now_s - self.seen_s)
        owed = self.owed_s + passed * self.speed
        due = int(owed / self.dt_s + 1e-9)
        if most is not None and due > most:
            due, passed = most, max(0.0, most * self.dt_s - self.owed_s) / self.speed
            owed = due * self.dt_s
        left, shown = max(0.0, owed - due * self.dt_s), self.shown_s + passed
        return replace(self, seen_s=now_s, owed_s=left, shown_s=shown)._measured(now_s), due

    def still(self, now_s: float) -> Playback:
        """Return the clock at a time up to which the pack stood still."""
        passed = 0.0 if self.seen_s is None else max(0.0, now_s - self.seen_s)
        still = replace(self, seen_s=now_s, shown_s=self.shown_s + passed)
        return still.at_speed(self.speed)

    def _measured(self, now_s: float) -> Playback:
        """Return it with the speed measured, where it is time for that."""
        if self.mark_s is None:
            return replace(self, mark_s=(now_s, self.shown_s))
        since, shown = self.mark_s
        if now_s - since < MEASURE_S:
            return self
        measured = self.speed * (self.shown_s - shown) / (now_s - since)
        short = self.short + 1 if measured < KEEPS_UP * self.speed else 0
        return replace(self, measured=measured, short=short, mark_s=(now_s, self.shown_s))

    def lowered(self) -> Playback:
        """Return it at the fastest gear that was reached, if it fell short twice in a row."""
        if self.short < 2:
            return self
        reached = [speed for speed in SPEEDS if speed * KEEPS_UP <= self.measured]
        return self.at_speed(max(reached, default=SPEEDS[0]))

    @property
    def share(self) -> float:
        """How far the picture is between the last two steps, 0..1 [-]."""
        return min(1.0, self.owed_s / self.dt_s)

    def toggled(self) -> Playback:
        """Return it paused, or running again."""
        return replace(self, running=not self.running)

    def at_speed(self, speed: float) -> Playback:
        """Return it at another speed, in shown seconds per second; it is to be measured anew."""
        return replace(self, speed=speed, measured=nan, mark_s=None, short=0)

    def geared(self, steps: int) -> Playback:
        """Return it some gears faster, or slower; the ends hold."""
        near = min(range(len(SPEEDS)), key=lambda i: abs(SPEEDS[i] - self.speed))
        return self.at_speed(SPEEDS[min(max(near + steps, 0), len(SPEEDS) - 1)])


MAX_KEPT_BYTES = 96_000_000
"""Memory one pack's past may take: 20 s of 8,000 cans, the whole of a lesson [byte]."""

MAX_KEPT = 6_000
"""Most moments kept, 5 min of passage: what stands beside the arrays of one takes room too."""

M = TypeVar("M")


class Kept(Generic[M]):
    """The last moments of a passage in a row, one for every step; one of them is the present.

    Going on from a present that is not the newest shows what was kept; a new moment put there
    forgets what came after it.
    """

    def __init__(self, now: M, most_bytes: int = MAX_KEPT_BYTES) -> None:
        self._moments, self._bytes, self._at = [now], [0], 0
        self._held, self._most_bytes = 0, most_bytes

    @property
    def now(self) -> M:
        """The present moment."""
        return self._moments[self._at]

    @property
    def earlier(self) -> M | None:
        """The moment before the present, where it is kept."""
        return self._moments[self._at - 1] if self._at else None

    @property
    def reach(self) -> tuple[int, int]:
        """How many moments are kept before the present, and after it."""
        return self._at, len(self._moments) - 1 - self._at

    def move(self, steps: int) -> int:
        """Go on, or back where negative, among what is kept; return by how many moments."""
        back, ahead = self.reach
        steps = min(max(steps, -back), ahead)
        self._at += steps
        return steps

    def add(self, moment: M, own_bytes: int) -> None:
        """Put a moment after the present and go there; the oldest go where they take too much.

        ``own_bytes`` is the memory that it does not share with the one before it.
        """
        self._forget_later()
        self._moments.append(moment)
        self._bytes.append(own_bytes)
        self._at += 1
        self._held += own_bytes
        old, many = 0, len(self._moments)
        while old < self._at and (self._held > self._most_bytes or many - old > MAX_KEPT):
            self._held -= self._bytes[old]
            old += 1
        del self._moments[:old], self._bytes[:old]
        self._at -= old

    def put(self, moment: M) -> None:
        """Put a moment in place of the present."""
        self._forget_later()
        self._moments[self._at] = moment

    def _forget_later(self) -> None:
        self._held -= sum(self._bytes[self._at + 1 :])
        del self._moments[self._at + 1 :], self._bytes[self._at + 1 :]


def between(before: Frame, after: Frame, share: float) -> Frame:
    """Return the frame at a share of the way between two, for drawing only.

    Cans in both are moved, everything else is as before.
    """
    if share <= 0.0 or not len(before) or not len(after):
        return before
    if share >= 1.0:
        return after
    # cans keep their order, so what both hold is found by number
    at = np.searchsorted(after.id, before.id)
    at = np.minimum(at, max(0, len(after) - 1))
    both = after.id[at] == before.id
    dx = np.where(both, after.x_mm[at] - before.x_mm, after.travel_mm - before.travel_mm)
    # in a periodic slice a can may come in again at the other end
    far = np.abs(dx) > 100.0 * before.radius_mm
    dx = np.where(far, 0.0, dx)
    dy = np.where(both & ~far, after.y_mm[at] - before.y_mm, 0.0)
    return replace(
        before,
        time_s=before.time_s + share * (after.time_s - before.time_s),
        travel_mm=before.travel_mm + share * (after.travel_mm - before.travel_mm),
        x_mm=(before.x_mm + share * dx).astype(np.float32),
        y_mm=(before.y_mm + share * dy).astype(np.float32),
    )
