"""One thing to know before a size change is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from packsim.check import one_of

__all__ = ["LEVELS", "Alert", "alert"]

LEVELS: Final = ("stop", "change", "watch", "note")
"""``stop``: cans cannot run so. ``change``: see to it first. ``watch``: keep an eye on it."""

Span = tuple[float, float]
"""Least and greatest of a length over the stages of an alert [mm]."""


@dataclass(frozen=True, slots=True)
class Alert:
    """One thing to know before the change is made.

    Parameters
    ----------
    level : {"stop", "change", "watch", "note"}
        How urgent it is.
    stages : tuple of str
        Names of the stages it holds for; none when it holds for the whole line.
    what_text, do_text : str
        What is the case, and what to do; ``{name}`` stands for a length.
    lengths_mm : tuple of (str, (float, float))
        Those lengths with their range over the stages [mm].
    """

    level: str
    stages: tuple[str, ...]
    what_text: str
    do_text: str = ""
    lengths_mm: tuple[tuple[str, Span], ...] = ()

    def __post_init__(self) -> None:
        one_of("level", self.level, LEVELS)

    def say(self, text: str, length: Callable[[float], str] | None = None) -> str:
        """Fill this alert's lengths into one of its texts, in mm unless told otherwise."""
        show = length or (lambda mm: f"{mm:.1f} mm")
        for name, (low, high) in self.lengths_mm:
            shown = show(low), show(high)
            words = shown[0] if shown[0] == shown[1] else f"{shown[0]} to {shown[1]}"
            text = text.replace("{" + name + "}", words)
        return text


def alert(
    level: str,
    stage: str,
    what: str,
    do: str = "",
    lengths_mm: Mapping[str, float] | None = None,
) -> Alert:
    """Return an alert of one stage, or of the whole line for an empty name."""
    spans = tuple((name, (mm, mm)) for name, mm in (lengths_mm or {}).items())
    return Alert(level, (stage,) if stage else (), what, do, spans)
