"""The clock of the picture: what is due at a given time, paused or not, fast or slow.

It never reads a clock itself: time is an argument, so that a session can be replayed exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packsim.errors import positive
from packsim.passage import Frame

SPEEDS = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""Shown seconds per second."""

MAX_STEPS = 4
"""Most simulation steps per picture: a machine too slow for the speed shows a slower passage
instead of freezing."""


@dataclass(frozen=True, slots=True)
class Playback:
    """Turns time that passes into simulation steps of ``dt_s``.

    ``speed`` is in shown seconds per second, one of `SPEEDS`; ``seen_s`` when it was last asked,
    None before the first time; ``owed_s`` the time shown but not yet stepped over, less than a
    step.
    """

    dt_s: float
    speed: float = 1.0
    running: bool = True
    seen_s: float | None = None
    owed_s: float = 0.0

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
        passed = 0.0 if self.seen_s is None else max(0.0, now_s - self.seen_s)
        if not self.running:
            return replace(self, seen_s=now_s), 0
        owed = self.owed_s + passed * self.speed
        due = int(owed / self.dt_s + 1e-9)
        if most is not None and due > most:
            return replace(self, seen_s=now_s, owed_s=0.0), most
        return replace(self, seen_s=now_s, owed_s=max(0.0, owed - due * self.dt_s)), due

    @property
    def share(self) -> float:
        """How far the picture is between the last two steps, 0..1 [-]."""
        return min(1.0, self.owed_s / self.dt_s)

    def toggled(self) -> Playback:
        """Return it paused, or running again."""
        return replace(self, running=not self.running)

    def geared(self, steps: int) -> Playback:
        """Return it some gears faster, or slower; the ends hold."""
        near = min(range(len(SPEEDS)), key=lambda i: abs(SPEEDS[i] - self.speed))
        return replace(self, speed=SPEEDS[min(max(near + steps, 0), len(SPEEDS) - 1)])


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
