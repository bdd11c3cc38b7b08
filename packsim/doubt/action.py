"""One thing a crew can measure: the inputs it settles, how well, and what it takes."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from packsim.errors import non_negative, one_of
from packsim.line.input_range import InputRange

AROUND: Final = ("line", "size", "stage", "bracket", "header")
"""What an action is done once for."""


@dataclass(frozen=True, slots=True)
class Settled:
    """Inputs that an action settles, and how well.

    Parameters
    ----------
    pattern : str
        Key path with empty brackets for any number, such as ``sizes[].diameter``; a star stands for
        any end.
    within : float
        How far off they may still be afterwards: in the units inside, or as a share of the value
        where ``relative``; 0 for what is seen or counted.
    relative : bool
        Whether ``within`` is a share of the value.
    """

    pattern: str
    within: float
    relative: bool = False

    def __post_init__(self) -> None:
        non_negative("within", self.within)

    def holds(self, key: str) -> bool:
        """Whether it settles the input of a key path."""
        told = re.sub(r"\[\d+\]", "[]", key)
        start, star, _ = self.pattern.partition("*")
        return told.startswith(start) if star else told == self.pattern

    def within_of(self, one: InputRange) -> float:
        """How far off an input may still be afterwards, never more than now, in its own units."""
        known = self.within * (abs(one.value) if self.relative else 1.0)
        return min(known, (one.high - one.low) / 2.0)


@dataclass(frozen=True, slots=True)
class Action:
    """One thing a crew can measure.

    Parameters
    ----------
    name, short : str
        What to do, in a few words; and in the fewest, where there is little room.
    settles : tuple of Settled
        What is known afterwards.
    each : {"line", "size", "stage", "bracket", "header"}
        What it is done once for.
    minutes, minutes_each : float
        Time to get ready once, and for each of those [min].
    write_down : str
        What to note.
    tools : str
        What it takes.
    caution : str
        When and from where; empty where it is done at a bench.
    readings : int
        Readings of each input to write down.
    """

    name: str
    short: str
    settles: tuple[Settled, ...]
    each: str
    minutes: float
    minutes_each: float
    write_down: str
    tools: str
    caution: str = ""
    readings: int = 1

    def __post_init__(self) -> None:
        one_of("each", self.each, AROUND)
        non_negative("minutes", self.minutes)
        non_negative("minutes_each", self.minutes_each)

    def settled(self, key: str) -> Settled | None:
        """Return what it says of the input of a key path; None where it does not settle it."""
        return next((one for one in self.settles if one.holds(key)), None)

    def takes_min(self, ranges: Iterable[InputRange]) -> float:
        """Return the time for all it settles among some inputs [min]; 0 where that is nothing."""
        done = {_done_for(one.key, self.each) for one in ranges if self.settled(one.key)}
        return self.minutes + self.minutes_each * len(done) if done else 0.0


_OWNER: Final = {
    "line": r"^",
    "size": r"^(sizes\[\d+\])?",
    "stage": r"^(stages\[\d+\])?",
    "bracket": r"^(stages\[\d+\](\.brackets\[\d+\])?)?",
    "header": r"^(stages\[\d+\](\.headers\[\d+\])?)?",
}


def _done_for(key: str, each: str) -> str:
    """Return the part of a key path that an action is done once for."""
    found = re.match(_OWNER[each], key)
    return found[0] if found else ""
