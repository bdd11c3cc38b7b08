"""The numbers a lesson may name: packsim's of a stage and a size, and those of the run shown."""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import QUANTITIES
from packsim.constants import MM_PER_INCH
from packsim.counts.intervals import poisson_interval
from packsim.errors import InputError
from packsim.report.words.display import Display
from packsim.report.words.numbers import thousands
from viewer.line import LoadedLine
from viewer.screen.drawing import NO_BREAK

_NAME = re.compile(r"\{([^{}]*)\}")

_LENGTH = re.compile(r"(\d+(?:\.\d+)?) (mm|in)")
"""A length that a text says itself, such as {10 mm}: shown in the units asked for."""

_BARE = re.compile(r"\d\s?mm\b")


@dataclass(frozen=True, slots=True)
class Number:
    """What a name stands for: as JSON has it, mm and degrees, or a word; and as it is shown."""

    value: float | str | None = None
    text: str = "–"


_AS_SET: Final[Mapping[str, Callable[[Answer, Display], Number]]] = {
    "edge_lean": lambda a, d: _angle(a.tipping.nominal.edge_lean_rad, d),
    "centre_lean": lambda a, d: _angle(a.tipping.nominal.centre_lean_rad, d),
    "window": lambda a, d: Number(a.window.width_mm, d.window(a.window, unit=True)),
}
"""Leans with the slack as set, and both ends of the guide window in one."""


def _angle(rad: float, display: Display) -> Number:
    return Number(math.degrees(rad), display.angle(rad))


RUN_NAMES: Final[Mapping[str, str]] = {
    "tipped": "Cans that tipped at the stage.",
    "tipped_left": "Of these, beside the left guide.",
    "tipped_centre": "Of these, inside the pack.",
    "tipped_right": "Of these, beside the right guide.",
    "cans": "Cans that came in.",
    "tipped_least": "The count's 95 % interval for the mean of such runs, its lower end.",
    "tipped_most": "Its upper end.",
    "widest_gap_mm": "Widest gap between neighbours in a row across, mean along the stage.",
}
"""What only a run gives, with its meaning: since the passage began."""

NAMES: Final[Mapping[str, str]] = {
    "size": "Can size on the line.",
    "edge_lean": "Lean of a can beside the guide with the slack as set.",
    "centre_lean": "Lean of a can inside the pack with the slack as set.",
    "window": "Guide window, both ends; compared by its width in mm.",
    **RUN_NAMES,
    **{one.key: one.meaning for one in QUANTITIES},
}
"""What a text may ask for in braces, and a comparison without them, with its meaning; quantities
by their keys; ``_2`` after it: of the second pack."""


@dataclass(frozen=True, slots=True)
class Ran:
    """What a run gave at a stage: cans tipped at the left, in the centre, at the right; cans in.

    ``widest_gap_mm`` is the widest gap across, mean along the stage, as last measured [mm].
    """

    tipped: tuple[int, ...] = (0, 0, 0)
    cans: int = 0
    widest_gap_mm: float = math.nan

    def numbers(self, display: Display) -> dict[str, Number]:
        """Return them by the names of `RUN_NAMES`."""
        low, high = poisson_interval(sum(self.tipped))
        counts = (sum(self.tipped), *self.tipped, self.cans)
        found = [Number(count, thousands(count)) for count in counts]
        found += [Number(low, f"{low:.1f}"), Number(high, f"{high:.1f}")]
        found.append(Number(self.widest_gap_mm, display.length(self.widest_gap_mm)))
        return dict(zip(RUN_NAMES, found, strict=True))


def numbers_of(
    loaded: LoadedLine, found: Answer | InputError, ran: Ran, stage: int, display: Display
) -> dict[str, Number]:
    """Return every number a lesson may name about one stage of a pack; no value for none."""
    width = loaded.scenario.stages[stage].guides.narrowest_mm
    numbers = dict.fromkeys(NAMES, Number()) | ran.numbers(display)
    numbers["size"] = Number(loaded.size, loaded.size)
    numbers["clear_width_mm"] = Number(width, display.length(width))
    if isinstance(found, Answer):
        for one in QUANTITIES:
            kind = one.kind.removeprefix("signed ")  # a sentence says which way is plus
            numbers[one.key] = Number(one.plain(found), display.show(kind, one.of(found)))
        numbers |= {name: number(found, display) for name, number in _AS_SET.items()}
    return numbers


def both(packs: Sequence[Mapping[str, Number]]) -> dict[str, Number]:
    """Return the numbers of one or two packs under their names, with ``_2`` for the second."""
    second = packs[1] if len(packs) > 1 else {}
    return {**packs[0], **{f"{name}_2": number for name, number in second.items()}}


def names_of(packs: int, *, run: bool) -> tuple[str, ...]:
    """Return the names there are with one or two packs, with those of a run or without."""
    allowed = [name for name in NAMES if run or name not in RUN_NAMES]
    return (*allowed, *(f"{name}_2" for name in allowed if packs == 2))


def check_text(key: str, text: str, allowed: Sequence[str]) -> None:
    """Raise `InputError` if a text asks in braces for a number there is not, or is no length."""
    for name in _NAME.findall(text):
        if name not in allowed and not _LENGTH.fullmatch(name):
            known = name.removesuffix("_2") in RUN_NAMES
            late = "what a run gives is said in result and because; here " if known else ""
            names = "one of " + ", ".join([*allowed, "or a length such as {10 mm}"])
            raise InputError(key, "{" + name + "}", late + names)
    rest = _NAME.sub("", text)
    if _BARE.search(rest):
        raise InputError(key, text, "a length in braces, {10 mm}: others see it in inches")
    for brace in "{}":
        if brace in rest:
            raise InputError(key, brace, "a { and a } around a name, such as {slack_mm}")


def filled(text: str, numbers: Mapping[str, Number], display: Display) -> str:
    """Return a text with what is in braces replaced; numbers and units stay on one line.

    It has passed `check_text`, the numbers are from `both`.
    """

    def said(name: str) -> str:
        length = _LENGTH.fullmatch(name)
        if length is None:  # none: of a second pack that somebody has put away
            return numbers.get(name, Number()).text
        if length[2] == display.length_unit:
            return name
        return display.length(float(length[1]) * (1.0 if length[2] == "mm" else MM_PER_INCH))

    return _NAME.sub(lambda m: said(m[1]).replace(" ", NO_BREAK), text)
