"""A hand in a capture: it drags a guide, the pack, a wire or a header, as a mouse would.

Nothing took its place before: a drag could only be filmed by a person.
"""

import re
from dataclasses import dataclass

from packsim.errors import InputError
from packsim.scenario.values.ranges import read_value
from viewer.screen.drawing import Drawing, Grip, Polygon, Writer
from viewer.session.adjust import DIALS, step_mm
from viewer.session.drag import PLACES, drop, pull, take
from viewer.session.session import Session

LEAD_S = 1.0
"""The hand is seen at what it takes for so long before and after [s]."""

ALLOWED = (
    '"WHAT HOW-FAR from SECOND to SECOND", such as "right guide -12 mm from 2 to 6"; what: '
    "left guide, right guide, pack, wire 1, header 1; above 0 is to the right, of a wire up"
)

_WORDS = re.compile(
    r"(left guide|right guide|pack|(?:wire|header) [1-9]\d?) (.+) "
    r"from (\d{1,5}(?:\.\d+)?) to (\d{1,5}(?:\.\d+)?)"
)

_TAKEN = {
    "left guide": ("clear width", 1),
    "right guide": ("clear width", 2),
    "pack": ("shift", 0),
    "wire": ("wire height", -1),
    "header": ("header place", -1),
}
"""Dial and part by what is taken; of wires and headers the part is one less than the number."""


@dataclass(slots=True)
class Hand:
    """A drag to come: what is taken, how far [mm], and between which times of the capture [s].

    ``said`` is how it was asked for; ``by_mm`` above 0 is to the right, of a wire up. ``grip`` is
    what was found to take, at ``at_px``.
    """

    said: str
    dial: str
    part: int
    by_mm: float
    from_s: float
    to_s: float
    grip: Grip | None = None
    at_px: tuple[int, int] = (0, 0)

    def move(self, session: Session, at_s: float, drawing: Drawing) -> None:
        """Do what the hand does at a time of the capture, on what is drawn.

        Raises `InputError` if what is to be taken is not in the picture.
        """
        if not self.from_s - LEAD_S <= at_s <= self.to_s + LEAD_S:
            session.pointer = None
            return
        grip = self._found(session, drawing)
        if self.from_s <= at_s < self.to_s and session.drag is None:
            take(session, grip, self.at_px[1])
        drag = session.drag
        share = min(max((at_s - self.from_s) / (self.to_s - self.from_s), 0.0), 1.0)
        y_px = self.at_px[1] + share * self._px(session, grip)
        session.pointer = self.at_px[0], round(y_px)
        if drag is not None:
            drag.took_s = 0.0  # the numbers follow in every picture, however long they take
            pull(session, drag, y_px)
            if share == 1.0:
                drop(session)

    def _found(self, session: Session, drawing: Drawing) -> Grip:
        if self.grip is None:
            place = PLACES[self.dial]
            found = [
                hit
                for hit in drawing.hits
                if isinstance(hit, Grip)
                and (hit.argument, hit.part, hit.stage) == (place, self.part, session.stage)
                and hit.pack == session.active
            ]
            if not found:
                raise InputError("--drag", repr(self.said), "something that the picture shows")
            self.grip = found[-1]
            box = self.grip.box
            self.at_px = box.x + box.w // 2, box.y + box.h // 2
        return self.grip

    def _px(self, session: Session, grip: Grip) -> float:
        """Return how far down the picture it goes; a wire goes up [px]."""
        stage = session.packs[grip.pack].source.loaded.scenario.stages[grip.stage]
        px_per_mm = grip.px_per_step / step_mm(
            DIALS[grip.argument], stage, grip.part, session.display
        )
        return self.by_mm * px_per_mm


def pointer(session: Session) -> Drawing:
    """Draw the hand as an arrow where a drag of a capture has it."""
    w = Writer(session.layout.scale)
    if session.pointer is not None:
        x, y = session.pointer
        for role, by in (("text", 1.0), ("panel", 0.72)):
            shape = ((0, 0), (0, 18), (4.6, 14), (7.4, 20), (10, 19), (7.2, 13), (13, 13))
            off = 1.6 * (1.0 - by) * 3.0
            points = tuple(
                (x + w.px(by * dx + off), y + w.px(by * dy + 2.0 * off)) for dx, dy in shape
            )
            w.add(Polygon(points, role))
    return w.drawing


def read_hand(text: str) -> Hand:
    """Read a drag as an option has it; `InputError` says how one is written.

    Examples
    --------
    >>> read_hand("right guide -12 mm from 2 to 6").by_mm
    -12.0
    """
    found = _WORDS.fullmatch(text.strip())
    if found is None:
        raise InputError("--drag", repr(text), ALLOWED)
    what, number = (found[1], 0) if found[1] in _TAKEN else found[1].split(" ")
    dial, part = _TAKEN[what]
    by_mm = read_value("--drag", "place", found[2], None)
    from_s, to_s = float(found[3]), float(found[4])
    if to_s <= from_s:
        raise InputError("--drag", repr(text), "an end after its beginning")
    return Hand(text, dial, part + int(number), by_mm=by_mm, from_s=from_s, to_s=to_s)
