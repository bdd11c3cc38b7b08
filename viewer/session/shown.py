"""One pack on the screen, and the can that stays in its side view."""

import math
from dataclasses import dataclass, field

from packsim.passage import Frame
from viewer.line import LoadedLine, index_of, worst_can
from viewer.screen.camera import Camera
from viewer.session.rocking import Kicked
from viewer.session.source import Live, Source
from viewer.voids import ShadedVoid, shaded_voids

ASKED_DIAMETERS = 10.0
"""Leans are known at least so far beyond what is looked at: more than a side view shows."""

VOIDS_EVERY_S = 0.25
"""Voids are looked for this often while the pack runs [s]."""

KEEP_S = 3.0
"""A can stays in the side view for this long at least, if it does not leave the line [s]."""


@dataclass(frozen=True, slots=True)
class KeptCan:
    """A can that stays in the side view: its number, the stage it was chosen for, since when."""

    can: int
    stage: int
    since_s: float


@dataclass
class ShownPack:
    """One pack on the screen: where its frames come from, the line it began with, its history.

    ``picked`` is the number of the can picked; ``done`` and ``undone`` are lines to go back to, and
    on to again; ``voids`` were last found for the moment and stretch ``voids_key``; by ``kicked``
    cans rock. ``kept`` is the can that stays in the side view, ``seen`` how many tips there were
    when it was last looked for.
    """

    source: Source
    first: LoadedLine
    picked: int | None = None
    done: list[LoadedLine] = field(default_factory=list)
    undone: list[LoadedLine] = field(default_factory=list)
    voids: tuple[ShadedVoid, ...] = ()
    voids_key: tuple[float, ...] = ()
    kicked: Kicked = field(default_factory=list)
    kept: KeptCan | None = None
    seen: int = 0

    def worst(self, stage: int) -> int | None:
        """Return the number of the worst standing can of a stage."""
        low, high = self.source.line_map.bounds_mm[stage : stage + 2].tolist()
        self._ask(low, high)
        return worst_can(self.source.frame, low, high)

    def ask_leans(self, view: Camera, stage: int) -> None:
        """Ask for the leans of what a camera sees, of a stage, and around a can kept or picked."""
        spans = [view.spans_mm()[:2], self.source.line_map.bounds_mm[stage : stage + 2].tolist()]
        frame, kept = self.source.frame, None if self.kept is None else self.kept.can
        for can in (self.picked, kept):
            i = index_of(frame, can)
            if i is not None:
                spans.append((float(frame.x_mm[i]), float(frame.x_mm[i])))
        room = ASKED_DIAMETERS * self.source.loaded.can.diameter_mm
        low, high = min(low for low, _ in spans), max(high for _, high in spans)
        # in coarse steps, so that a picture that follows the pack does not ask anew each time
        self._ask(room * math.floor(low / room - 1.0), room * math.ceil(high / room + 1.0))

    def _ask(self, low_mm: float, high_mm: float) -> None:
        if isinstance(self.source, Live):
            self.source.ask(low_mm, high_mm)

    def shown_can(self, stage: int) -> int | None:
        """Return the can in the side view: the picked one, the one kept for a stage, the worst."""
        for can in (self.picked, self._kept_for(stage)):
            if can is not None and index_of(self.source.frame, can) is not None:
                return can
        return self.worst(stage)

    def _kept_for(self, stage: int) -> int | None:
        return self.kept.can if self.kept is not None and self.kept.stage == stage else None

    def keep_can(self, stage: int) -> None:
        """Keep the can of the side view, until another has been worse for a while, or one tips."""
        frame, events = self.source.frame, self.source.events
        tipped = [event.can for event in events[self.seen :] if event.stage == stage]
        self.seen, kept = len(events), self.kept
        now, worst = self.shown_can(stage), self.worst(stage)
        if tipped:
            now = tipped[-1]
        elif kept is not None and kept.can == now and kept.stage == stage:
            if abs(frame.time_s - kept.since_s) < KEEP_S or not _worse(frame, worst, now):
                return
            now = worst
        self.kept = None if now is None else KeptCan(now, stage, frame.time_s)

    def find_voids(self, view: Camera, *, shade: bool, follow: bool) -> None:
        """Look for the gaps to shade in what a camera sees, now and then; none without shading."""
        low, high, _, _ = view.spans_mm()
        near = self.source.frame.time_s // VOIDS_EVERY_S
        key = (near, low, high) if not follow else (near, view.px_per_mm, 0.0)
        if not shade:
            self.voids, self.voids_key = (), ()
        elif key != self.voids_key:
            line_map = self.source.line_map
            self.voids = shaded_voids(self.source.frame, line_map, low, high)
            self.voids_key = key


def _worse(frame: Frame, other: int | None, now: int | None) -> bool:
    """Return whether another can is in a worse state."""
    at, here = index_of(frame, other), index_of(frame, now)
    return at is not None and (here is None or bool(frame.role[at] > frame.role[here]))
