"""The chance of a tip for a command: passages run or found in the cache, with a progress bar."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from packsim.cli.outputs import progress_bar

if TYPE_CHECKING:
    from packsim.chance import LineChance
    from packsim.line import Scenario


def keep_passages(keep: bool) -> None:
    """Use no passages run before, and keep none, unless ``keep``."""
    if not keep:
        from packsim.chance.keep import keep_nothing

        keep_nothing()


def chances(
    lines: Iterable[tuple[str, Scenario]], *, keep: bool = True, sides: bool = False
) -> tuple[LineChance, ...]:
    """Return the chance of each can size on a line, as many as are given.

    ``keep`` reads and writes the cache; ``sides`` adds the other sides of entry where the side is
    assumed.
    """
    from packsim.chance import chance_of
    from packsim.report.words.chance_words import entry_assumed

    keep_passages(keep)
    found = []
    for size, scenario in lines:
        with progress_bar(f"chance of a tip, {size}") as tick:
            asked = sides and entry_assumed(scenario)
            found.append(chance_of(scenario, size, progress=tick, sides=asked))
    return tuple(found)
