"""Dragging what moves: a guide, the pack, a wire, a header; a drag turns a dial, and is one undo.

The steps asked for are drawn at once and made for the picture after. Where that takes long, the
handle goes on following the hand and the numbers come when it rests, or every few pictures.
"""

import math
from dataclasses import dataclass
from time import perf_counter

from packsim.answers import Answer
from packsim.errors import InputError
from viewer.line import LoadedLine, answers_of
from viewer.screen.drawing import Grip
from viewer.session.adjust import DIALS, turned
from viewer.session.session import Session

TURN_S = 0.05
"""Where steps take longer to make than this, the numbers wait for the hand to rest [s]."""

MOST_WAITING = 6
"""They wait for so many pictures at most."""

PLACES = {dial.name: i for i, dial in enumerate(DIALS)}


@dataclass
class Drag:
    """What is held: where it was taken [px], the lines before it and now, and the steps between.

    ``wanted`` steps are asked for by the mouse, ``drawn`` were when the last picture was made,
    ``done`` are made. The last took ``took_s`` to make [s]; ``waiting`` pictures were drawn since
    where that is long. Beyond ``least`` and ``most`` it was stopped.
    """

    grip: Grip
    from_px: float
    first: LoadedLine
    now: LoadedLine
    wanted: int = 0
    drawn: int = 0
    done: int = 0
    took_s: float = 0.0
    waiting: int = 0
    least: float = -math.inf
    most: float = math.inf

    @property
    def ahead_px(self) -> float:
        """How far down the screen it is drawn from where it was taken [px]."""
        return min(max(self.wanted, self.least), self.most) * self.grip.px_per_step


def choose(session: Session, grip: Grip) -> None:
    """Choose the dial of what is pointed at, its part, its stage and its pack.

    One that was drawn of a pack that is gone since is no longer there.
    """
    if grip.pack >= len(session.packs):
        return
    session.active = grip.pack
    session.chosen = grip.pack if len(session.packs) > 1 else session.chosen
    session.stage, session.dial = grip.stage, grip.argument
    session.parts[session.dial] = grip.part


def take(session: Session, grip: Grip, y_px: float) -> None:
    """Begin to drag at a height of the screen."""
    choose(session, grip)
    if session.active != grip.pack:
        return
    line = session.pack.source.loaded
    session.drag = Drag(grip, y_px, line, line)
    session.last, session.said = ("turn", 0), ""


def pull(session: Session, drag: Drag, y_px: float) -> None:
    """Ask for the steps that bring what is held to a height of the screen."""
    drag.wanted = round((y_px - drag.from_px) / drag.grip.px_per_step)


def follow_drag(session: Session) -> None:
    """Make the steps that were drawn; those asked for since are drawn next."""
    drag = session.drag
    if drag is None:
        return
    if drag.grip.pack >= len(session.packs) or session.pack.source.loaded is not drag.now:
        session.drag = None  # something else changed the line
        return
    moving, drag.waiting = drag.wanted != drag.drawn, drag.waiting + 1
    if not moving or drag.took_s <= TURN_S or drag.waiting >= MOST_WAITING:
        began_s, was = perf_counter(), drag.done
        _make(session, drag, drag.drawn)
        drag.waiting = 0
        if drag.done != was:
            drag.took_s = perf_counter() - began_s
    drag.drawn = drag.wanted


def drop(session: Session) -> None:
    """Let go, at the steps asked for; all of them are one change."""
    drag = session.drag
    if drag is None:
        return
    drag.drawn = drag.wanted
    follow_drag(session)
    session.drag = None
    if drag.now != drag.first:
        session.pack.done.append(drag.first)
        session.pack.undone.clear()


def _make(session: Session, drag: Drag, steps: int) -> None:
    """Turn the dial to some steps from where it was, or as far as it goes."""
    steps = round(min(max(steps, drag.least), drag.most))
    if steps == drag.done:
        return
    try:
        _go(session, drag, steps)
    except InputError as problem:
        _go_far(session, drag, steps, problem)


def _go_far(session: Session, drag: Drag, refused: int, reason: InputError) -> None:
    """Make as many of refused steps as can be, and say why it stops there."""
    while abs(refused - drag.done) > 1:
        middle = (drag.done + refused) // 2
        try:
            _go(session, drag, middle)
        except InputError as problem:
            refused, reason = middle, problem
    if refused > drag.done:
        drag.most = drag.done
    else:
        drag.least = drag.done
    session.say(f"stopped there: {reason}")


def _go(session: Session, drag: Drag, steps: int) -> None:
    """Make the line as it is after some steps; `InputError` where it cannot be."""
    dial, shown = DIALS[session.dial], session.display
    line = turned(drag.first, dial, steps, session.scope, session.part, display=shown)
    _check_lanes(drag, line, session)
    session.change(line)
    drag.now, drag.done = line, steps


def _check_lanes(drag: Drag, line: LoadedLine, session: Session) -> None:
    """Raise `InputError` where fewer lanes fit than run: guides cannot be pushed through a pack."""
    if DIALS[session.dial].name != "clear width":
        return
    for before, now in zip(answers_of(drag.first), answers_of(line), strict=True):
        if not isinstance(before, Answer) or not isinstance(now, Answer):
            continue
        if now.pack.lanes < before.pack.lanes:
            wide = session.display.length(before.pack.clear_width_mm - before.pack.slack_mm)
            got, run = f"room for {now.pack.lanes} lanes", f"the {before.pack.lanes} lanes that run"
            raise InputError("guide", got, f"{wide} for {run}")
