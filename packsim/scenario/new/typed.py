"""What a person types as an answer: a quantity, readings of one, stages, something for each stage.

A value stays as it was typed, ± and fractions too; a bare number gets the unit the person speaks
in.
"""

import re
from collections.abc import Sequence
from contextlib import suppress
from typing import Final

from pydantic_core import PydanticCustomError

from packsim.errors import InputError
from packsim.scenario.sheets.typed import Unclear, habits
from packsim.scenario.values.ranges import IN_US
from packsim.scenario.values.readers import Of

UNKNOWN: Final = ("", "?", "don't know", "dont know", "do not know", "unknown", "no idea", "dk")
"""Answers of who does not know, in small letters."""

_MARKS: Final = {"\u2033": '"', "\u201d": '"', "''": '"', "\u2032": "'", "\u2019": "'"}
_OFF: Final = re.compile(r"\s*(±|\+/-|\+-)\s*")
_APART: Final = re.compile(r"\s*;\s*|\s*,\s+|\s+and\s+|\n+")

_DUTIES: Final = (
    (r"blow|air\b|knife", "blow-off"),
    (r"oven|dry|bake|cure", "oven"),
    (r"drain|drip", "drain"),
    (r"rinse|\bdi\b", "rinse"),
    (r"wash|flood|etch|clean|treat|coat|acid|spray", "flood"),
)
"""What a stage is for, by what its name has in it; the first that fits."""


def is_unknown(text: str) -> bool:
    """Whether an answer says that the person does not know."""
    return text.strip().rstrip(".!").lower().replace("\u2019", "'") in UNKNOWN


def quantity(key: str, text: str, kind: Of, units: str) -> str:
    """Return one quantity as a file has it, or raise `InputError` under ``key``.

    Examples
    --------
    >>> from packsim.scenario.values.fields import Length, kind_of
    >>> quantity("width", "44 3/8", kind_of(Length), "inch")
    '44 3/8 in'
    >>> quantity("width", "1391 ± 1", kind_of(Length), "metric")
    '1391 mm ± 1 mm'
    """
    unit = kind.unit if units == "metric" else IN_US.get(kind.unit, kind.unit)
    for mark, plain in _MARKS.items():
        text = text.replace(mark, plain)
    if kind.unit == "mm":
        text = re.sub(r"\s*\"", " in", re.sub(r"\s*'(?!\w)", " ft", text))
    try:
        text = habits([text]).plain(text)
    except Unclear as unclear:
        raise InputError(key, repr(text), str(unclear)) from None
    parts = _OFF.split(text.strip())
    if not re.search(r"[^\W\d]|%|°", text):
        parts[::2] = [f"{part} {unit}".strip() for part in parts[::2]]
    said = " ± ".join(parts[::2])
    try:
        kind.read(said)
    except PydanticCustomError as refused:
        raise InputError(key, repr(text), refused.message()) from None
    return said


def readings(key: str, text: str, kind: Of, units: str) -> str | list[str]:
    """Return one quantity, or several readings of one; the unit of the last is that of all.

    Examples
    --------
    >>> from packsim.scenario.values.fields import Length, kind_of
    >>> readings("diameter", "66.05, 66.12 mm", kind_of(Length), "inch")
    ['66.05 mm', '66.12 mm']
    """
    parts = items(text)
    unit = re.search(r"[^\W\d].*$|\"$", parts[-1])
    if unit is not None:
        parts = [one if re.search(r"[^\W\d]|\"", one) else f"{one} {unit[0]}" for one in parts]
    said = [quantity(key, one, kind, units) for one in parts]
    return said[0] if len(said) == 1 else said


def items(text: str) -> list[str]:
    """Return the parts of an answer that are set apart by commas, semicolons or "and"."""
    return [part for part in _APART.split(text.strip()) if part] or [""]


def stages(key: str, text: str, kind: Of, units: str) -> list[tuple[str, str, str | None]]:
    """Return name, duty and length of each stage; the length is None where nobody knows it.

    Examples
    --------
    >>> from packsim.scenario.values.fields import Length, kind_of
    >>> stages("stages", "wash 8 ft, stage 2 (rinse) 6 1/2 ft, drain ?", kind_of(Length), "inch")
    [('wash', 'flood', '8 ft'), ('stage 2', 'rinse', '6 1/2 ft'), ('drain', 'drain', None)]
    """
    found: list[tuple[str, str, str | None]] = []
    for part in items(text):
        name, length = _name_and_length(key, part, kind, units)
        told = re.fullmatch(r"(.+?)\s*\((.+)\)", name)
        name, said = (told[1], told[2]) if told else (name, name)
        duty = next((duty for word, duty in _DUTIES if re.search(word, said.lower())), None)
        if duty is None:
            allowed = "what it is for behind its name: wash, rinse, blow-off, drain or oven, as in "
            raise InputError(key, repr(part), f'{allowed}"{name} (rinse) 6 ft"')
        if name.casefold() in [one[0].casefold() for one in found]:
            raise InputError(key, repr(part), "a name not used before")
        found.append((name, duty, length))
    return found


def _name_and_length(key: str, part: str, kind: Of, units: str) -> tuple[str, str | None]:
    """Split where the rest first reads as a length; a bare number is none, feet and inches mix.

    Without any number the length is not known.
    """
    words = part.replace(":", " ").split()
    if not any(sign.isdecimal() for sign in part):
        words = [word for word in words if not is_unknown(word)]
        return " ".join(words), None
    for i in range(1, len(words)):
        rest = " ".join(words[i:])
        if is_unknown(rest):
            return " ".join(words[:i]), None
        if re.search(r"[A-Za-z'\"\u2032\u2033]", rest):
            with suppress(InputError):
                return " ".join(words[:i]), quantity(key, rest, kind, units)
    allowed = 'a name and a length with its unit, such as "wash 12 ft", or "wash ?"'
    raise InputError(key, repr(part), allowed)


def by_stage(key: str, text: str, names: Sequence[str]) -> dict[str, str]:
    """Return what is said of each stage: of those named, or the same of all where none is.

    Examples
    --------
    >>> by_stage("pressures", "wash 32 psi, rinse 15 psi", ["pre-wash", "wash", "rinse"])
    {'wash': '32 psi', 'rinse': '15 psi'}
    >>> by_stage("pressures", "prewash 20, WASH 32 psi", ["pre-wash", "wash"])
    {'pre-wash': '20', 'wash': '32 psi'}
    >>> by_stage("pressures", "32 psi", ["wash", "rinse"])
    {'wash': '32 psi', 'rinse': '32 psi'}
    """
    parts = [re.sub(r"\s*[:=]\s*", " ", part) for part in items(text)]
    known = {_letters(name): name for name in names}
    found: dict[str, str] = {}
    for part in parts:
        words = part.split()
        told = [i for i in range(1, len(words)) if _letters(*words[:i]) in known]
        if not told and len(parts) == 1:
            return dict.fromkeys(names, part)
        if not told:
            allowed = f'a stage and its value, "{names[0]} ...", or one value for all; stages: '
            raise InputError(key, repr(part), allowed + ", ".join(names))
        name = known[_letters(*words[: told[-1]])]
        if name in found:
            raise InputError(key, repr(part), f"{name} once")
        found[name] = " ".join(words[told[-1] :])
    return found


def _letters(*words: str) -> str:
    """Return what a name is known by: ``prewash`` is ``Pre-wash``."""
    return re.sub(r"[\W_]", "", "".join(words)).casefold()
