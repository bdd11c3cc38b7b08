"""Changes of the line that is watched, and the way back from them."""

from dataclasses import replace

from packsim.size_change import apply_change, plan_change
from viewer.line import LoadedLine
from viewer.session.adjust import DIALS, turned
from viewer.session.session import Session


def turn(s: Session, steps: int) -> None:
    """Turn the chosen dial by some steps."""
    line, dial = s.pack.source.loaded, DIALS[s.dial]
    change(s, turned(line, dial, steps, s.scope, s.part, display=s.display))


def change(s: Session, loaded: LoadedLine) -> None:
    """Change the line of the active pack, so that it can be undone."""
    pack, before = s.pack, s.pack.source.loaded
    if loaded != before:
        s.change(loaded)
        pack.done.append(before)
        pack.undone.clear()


def go_back(s: Session, taken: list[LoadedLine], given: list[LoadedLine], what: str) -> None:
    """Take a line from those to go back to, or on to again, and leave the present one for it."""
    if not taken:
        s.say(f"nothing to {what}")
        return
    now = s.pack.source.loaded
    s.change(taken[-1])
    given.append(now)
    taken.pop()


def reset(s: Session, _argument: int) -> None:
    """Set the line as the file has it."""
    change(s, s.pack.first)
    s.say("as in the file")


def recommended(s: Session, _argument: int) -> None:
    """Set the line as `packsim change` would for the size that is shown."""
    loaded = s.pack.source.loaded
    line = loaded.scenario
    best = plan_change(line, line.set_for, loaded.size)
    change(s, replace(loaded, scenario=apply_change(line, best)))
    s.say(f"as recommended for the {loaded.size}: {best.setting.reason}")
