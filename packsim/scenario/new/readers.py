"""How each answer is read: text and answers so far to the answer, or a complaint."""

import re
from collections.abc import Callable
from contextlib import suppress
from itertools import pairwise
from typing import Any, Final

from pydantic_core import PydanticCustomError

from packsim.catalogue import SizeRow, catalogue_sizes
from packsim.errors import InputError
from packsim.line import DUTIES
from packsim.scenario.new import typed
from packsim.scenario.values import fields as f
from packsim.scenario.values.readers import Of

Answers = dict[str, Any]
"""What was answered, by the name of the question; None where nobody knows."""

_LENGTH: Final = f.kind_of(f.Length)

_LEAST_MM: Final = 40.0
_MOST_MM: Final = 120.0
"""No body of a drinks can is slimmer or wider: those of the catalogue have 53 to 84 mm."""


USUAL: Final = (
    ("pre-rinse", "rinse", None),
    ("pre-wash", "flood", None),
    ("wash", "flood", None),
    ("rinse", "rinse", None),
    ("treatment", "flood", None),
    ("DI rinse", "rinse", None),
)
"""The stages taken where nobody knows them: common practice, no source."""


def units(text: str, _: Answers) -> str:
    """Read the unit system a person speaks in."""
    word = text.strip().lower()
    for units, pattern in (
        ("inch", r"in(ch(es)?)?|imperial|us|ft|feet"),
        ("metric", r"m(m|etric)?|si"),
    ):
        if re.fullmatch(pattern, word):
            return units
    raise InputError("units", repr(text), "inches or millimetres")


def size(name: str) -> Callable[[str, Answers], SizeRow | str | list[str]]:
    """Return a reader of a size of the catalogue, by its id or a part of it, or of a diameter."""

    def read(text: str, said: Answers) -> SizeRow | str | list[str]:
        fits = _fitting(text)
        found: SizeRow | str | list[str] | None = fits[0] if len(fits) == 1 else None
        for system in ("metric", "inch") if found is None else ():  # one of them cannot be
            with suppress(InputError, PydanticCustomError):
                typed_so = typed.readings(name, text, _LENGTH, system)
                if _LEAST_MM <= float(_LENGTH.read(typed_so)) <= _MOST_MM:
                    found = typed_so
        if found is None or found == said.get("size"):
            listed = ", ".join(row.id for row in fits or catalogue_sizes())
            span = f"{_LEAST_MM:g} to {_MOST_MM:g} mm"
            allowed = f"the diameter of the body, {span}, or one of {listed}"
            raise InputError(name, repr(text), allowed if found is None else "another can")
        return found

    return read


def _fitting(text: str) -> list[SizeRow]:
    """Return the rows of the catalogue that an answer may mean: by id, by words, or by class."""
    rows = catalogue_sizes()
    plain = re.sub(r"[\W_]", "", text.lower())
    exact = [row for row in rows if plain == re.sub(r"[\W_]", "", row.id.lower())]
    words = re.findall(r"\d+(?:\.\d+)?|[a-z]+", text.lower())
    named = [(row, f"{row.id} {row.label}".lower()) for row in rows]
    found = [row for row, known in named if words and all(word in known for word in words)]
    return exact or found or [row for row in rows if text.strip() == row.body_class]


def quantity(name: str, kind: Of) -> Callable[[str, Answers], Any]:
    """Return a reader of one quantity."""
    return lambda text, said: typed.quantity(name, text, kind, said["units"])


def each(
    name: str, kind: Of, *, spraying: bool = False
) -> Callable[[str, Answers], dict[str, str | None]]:
    """Return a reader of one quantity for every stage, or for each by its name."""

    def read(text: str, said: Answers) -> dict[str, str | None]:
        named = typed.by_stage(name, text, stage_names(said, spraying=spraying))
        return {
            stage: None if typed.is_unknown(one) else typed.quantity(name, one, kind, said["units"])
            for stage, one in named.items()
        }

    return read


def clear_width(text: str, said: Answers) -> dict[str, str | None]:
    """Read clear widths by stage, none wider than the mat."""
    found = each("clear width", _LENGTH)(text, said)
    if said["mat width"] is not None:
        mat = float(_LENGTH.read(said["mat width"]))
        for stage, width in found.items():
            if width is not None and _LENGTH.read(width) > mat:
                allowed = f"at most the mat's width, {said['mat width']}"
                raise InputError("clear width", f"{stage} {width}", allowed)
    return found


def stages(text: str, said: Answers) -> list[tuple[str, str, str | None]]:
    """Read name, duty and length of each stage."""
    return typed.stages("stages", text, _LENGTH, said["units"])


def stage_names(said: Answers, *, spraying: bool = False) -> list[str]:
    """Return the names of the stages, or of those that may spray."""
    rows = said["stages"] or USUAL
    return [name for name, duty, _ in rows if not spraying or DUTIES[duty].sprays]


def headers(text: str, said: Answers) -> dict[str, tuple[int, str]]:
    """Read how many pairs of headers each stage has, or headers on one side only."""
    found = {}
    for stage, said_of in typed.by_stage("headers", text, stage_names(said, spraying=True)).items():
        match = re.fullmatch(r"(\d{1,3}|none|no)\s*(pairs?|both|above|below|)", said_of.lower())
        if match is None:
            allowed = 'a number of pairs, or "2 above" where there is nothing below'
            raise InputError("headers", repr(f"{stage} {said_of}"), allowed)
        count = int(match[1]) if match[1].isdecimal() else 0
        found[stage] = (count, match[2] if match[2] in ("above", "below") else "both")
    return found


def rows(text: str, _: Answers) -> str:
    """Read which way the rows run."""
    word = text.strip().lower()
    for rows in ("along", "across"):
        if word and rows.startswith(word) and len(word) > 1:
            return rows
    raise InputError("rows", repr(text), "along or across")


def wires(text: str, said: Answers) -> list[str]:
    """Read heights of wires, lowest first."""
    found = typed.readings("wires", text, _LENGTH, said["units"])
    heights = found if isinstance(found, list) else [found]
    values = [_LENGTH.read(one) for one in heights]
    if any(b <= a for a, b in pairwise(values)):
        raise InputError("wires", repr(text), "heights above the mat, lowest first")
    return heights


def own(name: str) -> Callable[[Answers], bool]:
    """Return whether a size is given by its diameter, so that its height is asked for."""
    return lambda said: isinstance(said.get(name), str | list)
