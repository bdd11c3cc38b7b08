"""What the controls of tips do: run to the next one, show one again, step and scrub through it."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from packsim.errors import InputError
from viewer.session.session import Session
from viewer.session.tips import SLOW, TipShow, at_tip, close_tip, show_tip

EVERY = 10**9
"""As many tips to hold as will come."""


def next_tip(s: Session, _argument: int) -> None:
    """Run on, and hold the next tip."""
    s.tips_to_hold = max(1, s.tips_to_hold)
    s.clock = replace(s.clock, running=True)
    s.say("running on to the next tip")


MOST_S = 600.0
"""A picture of a tip is waited for through so much of a passage [s]."""


def run_to_tip(session: Session) -> None:
    """Make steps until a tip is held; `InputError` where none comes."""
    session.tips_to_hold = 1
    for _ in range(round(MOST_S / session.clock.dt_s)):
        tipped = [len(pack.source.events) for pack in session.packs]
        session.step(1)
        hold_new_tip(session, tipped)
        if session.tip is not None:
            return
    # a tip that came and is not held was refused, and the message says why
    came = any(pack.source.events for pack in session.packs)
    why = session.message if came else f"no can tipped in {MOST_S:g} s"
    raise InputError("--look", "tip", f"line, stage or worst: {why}")


def _later_tip(s: Session, show: TipShow, _argument: int) -> None:
    """Show the tip after the one shown, if there was one by now, or run on to it."""
    close_tip(s)
    if show.number + 1 < len(s.packs[show.pack].source.events):
        show_tip(s, show.pack, show.number + 1)
    else:
        next_tip(s, 0)


def tip(s: Session, number: int) -> None:
    """Show a tip of the pack that is watched, the last where below 0."""
    events = s.watched.source.events
    if not events:
        s.say("no can has tipped yet")
        return
    pack = s.packs.index(s.watched)
    show_tip(s, pack, len(events) - 1 if number < 0 else min(number, len(events) - 1))


def _replay(s: Session, show: TipShow, number: int) -> None:
    if number >= 0:
        show_tip(s, show.pack, number)
    else:
        at_tip(s, show, show.first_s)
        show.running = True


def every_tip(s: Session, _argument: int) -> None:
    """Hold every tip from now on, or none."""
    s.tips_to_hold = 0 if s.tips_to_hold > 1 else EVERY
    s.say("slows down at every tip" if s.tips_to_hold else "does not slow down at tips")


def _tip_pause(s: Session, show: TipShow, _argument: int) -> None:
    if show.shown_s >= show.last_s:
        at_tip(s, show, show.first_s)
    show.running = not show.running


def _tip_step(s: Session, show: TipShow, steps: int) -> None:
    show.running = False
    finer = show.shown_s + steps * SLOW * s.clock.dt_s >= -1e-9
    at_tip(s, show, show.shown_s + steps * (0.1 * SLOW if finer else s.clock.dt_s))


def _tip_share(s: Session, show: TipShow, by: float, start: float | None = None) -> None:
    now = show.share_of(show.shown_s) if start is None else start
    at_tip(s, show, show.at_share(min(max(now + by, 0.0), 1.0)))


TIP_ACTIONS: Final[dict[str, Callable[[Session, TipShow, int], None]]] = {
    "pause": _tip_pause,
    "one step": _tip_step,
    "seconds": lambda s, show, a: _tip_share(s, show, 0.05 * a),
    "newest": lambda s, show, _a: at_tip(s, show, show.last_s),
    "tip time": lambda s, show, a: _tip_share(s, show, 0.0, a / 59.0),
    "tip": _replay,
    "next tip": _later_tip,
    "close": lambda s, _show, _a: close_tip(s),
}
"""What controls do while a tip is shown, instead of what they do otherwise."""


def hold_new_tip(session: Session, tipped: list[int]) -> None:
    """Show the first tip since, where the next one is to be held."""
    for i, (pack, seen) in enumerate(zip(session.packs, tipped, strict=False)):
        if session.tips_to_hold > 0 and len(pack.source.events) > seen:
            session.tips_to_hold -= 1
            show_tip(session, i, seen)
            return
