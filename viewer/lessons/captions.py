"""Packsim's numbers in a lesson's captions, so that no lesson states a number of its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.answers.answer import Alignment
from packsim.errors import InputError
from packsim.report.words.display import Display, thousands
from viewer.line.loaded import LoadedLine
from viewer.screen.panel_writer import NO_BREAK

_SHOW = Display("metric")

_NAME = re.compile(r"\{(\w*)\}")


_ANSWERED: Final[Mapping[str, Callable[[Answer], str]]] = {
    "lanes": lambda a: str(a.pack.lanes),
    "slack": lambda a: _SHOW.length(a.slack_mm),
    "safe": lambda a: _SHOW.length(a.tipping.safe.slack_mm),
    "edge_limit": lambda a: _SHOW.length(a.tipping.safe.edge_mm),
    "centre_limit": lambda a: _SHOW.length(a.tipping.safe.centre_mm),
    "balance": lambda a: _SHOW.angle(a.tipping.balance_angle_rad),
    "edge_lean": lambda a: _SHOW.angle(a.tipping.nominal.edge_lean_rad),
    "centre_lean": lambda a: _SHOW.angle(a.tipping.nominal.centre_lean_rad),
    "index": lambda a: _SHOW.index(a.tipping.nominal.worst),
    "verdict": lambda a: a.tipping.verdict,
    "window": lambda a: _SHOW.window(a.window, unit=True),
}

_ALIGNED: Final[Mapping[str, Callable[[Alignment], str]]] = {
    "miss": lambda a: _SHOW.length(a.now.worst_mm),
    "best_shift": lambda a: _SHOW.length(a.best.shift_for_worst_mm, signed=True),
    "best_miss": lambda a: _SHOW.length(a.best.worst_mm),
}

NAMES: Final = ("size", "width", "tipped", *_ANSWERED, *_ALIGNED)
"""What a caption may ask for in braces; with ``_2`` after it, of the second pack."""


def check_names(caption: str, packs: int) -> None:
    """Raise `InputError` if a caption asks for a number there is not, with one or two packs."""
    allowed = [*NAMES, *(f"{name}_2" for name in NAMES if packs == 2)]
    for name in _NAME.findall(caption):
        if name not in allowed:
            raise InputError("caption", "{" + name + "}", "one of " + ", ".join(allowed))


def filled(caption: str, packs: Sequence[Mapping[str, str]]) -> str:
    """Return a caption with its names in braces replaced by the numbers of one or two packs.

    The caption has passed `check_names`, the numbers are from `numbers_of`; numbers and units stay
    on one line.
    """
    values = {**packs[0], **{f"{name}_2": text for name, text in packs[-1].items()}}
    return _NAME.sub(lambda found: values[found[1]].replace(" ", NO_BREAK), caption)


def numbers_of(
    loaded: LoadedLine, found: Answer | InputError, tipped: int, stage: int
) -> dict[str, str]:
    """Return every number a caption may show about one stage of a pack; a dash for none."""
    values = dict.fromkeys(NAMES, "–")
    values["size"] = loaded.size
    values["width"] = _SHOW.length(loaded.scenario.stages[stage].guides.narrowest_mm)
    values["tipped"] = thousands(tipped)
    if isinstance(found, Answer):
        values |= {name: text(found) for name, text in _ANSWERED.items()}
        if found.alignment is not None:
            values |= {name: text(found.alignment) for name, text in _ALIGNED.items()}
    return values
