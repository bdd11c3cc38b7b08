"""Packsim's numbers in a lesson's captions, so that no lesson states a number of its own."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import QUANTITIES
from packsim.errors import InputError
from packsim.report.words.display import Display
from packsim.report.words.numbers import thousands
from viewer.line.loaded import LoadedLine
from viewer.screen.panel_writer import NO_BREAK

_SHOW = Display("metric")

_NAME = re.compile(r"\{(\w*)\}")


_AS_SET: Final[Mapping[str, Callable[[Answer], str]]] = {
    "edge_lean": lambda a: _SHOW.angle(a.tipping.nominal.edge_lean_rad),
    "centre_lean": lambda a: _SHOW.angle(a.tipping.nominal.centre_lean_rad),
    "window": lambda a: _SHOW.window(a.window, unit=True),
}
"""Leans with the slack as set, and both ends of the guide window in one."""

NAMES: Final = ("size", "tipped", *_AS_SET, *(one.key for one in QUANTITIES))
"""What a caption may ask for in braces, quantities by their keys; ``_2`` after it: of the second
pack."""


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
    values["clear_width_mm"] = _SHOW.length(loaded.scenario.stages[stage].guides.narrowest_mm)
    values["tipped"] = thousands(tipped)
    if isinstance(found, Answer):
        values |= {one.key: _SHOW.show(one.kind, one.of(found)) for one in QUANTITIES}
        values |= {name: text(found) for name, text in _AS_SET.items()}
    return values
