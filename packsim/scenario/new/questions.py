"""The few questions a first scenario needs, in order; each can be left open."""

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from pydantic_core import PydanticCustomError

from packsim.catalogue import SizeRow, catalogue_sizes
from packsim.errors import InputError
from packsim.line import DUTIES
from packsim.scenario import fields as f
from packsim.scenario.known.documented import documented
from packsim.scenario.new import typed

Answers = dict[str, Any]
"""What was answered, by the name of the question; None where nobody knows."""

_LENGTH: Final = f.kind_of(f.Length)

_LEAST_MM: Final = 40.0
_MOST_MM: Final = 120.0
"""No body of a drinks can is slimmer or wider: those of the catalogue have 53 to 84 mm."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Parameters
    ----------
    name : str
        Under which the answer is kept, and complaints are made.
    ask : str
        The question.
    example : dict of str
        An answer, by unit system.
    read : callable
        Text and answers so far to the answer; raises `InputError`.
    unknown : str
        What is done where nobody knows.
    when : callable
        Whether it is to be asked, by the answers so far.
    key : str
        Whose documented range then stands: ``mat.speed``; empty where there is none.
    """

    name: str
    ask: str
    example: Mapping[str, str]
    read: Callable[[str, Answers], Any]
    unknown: str
    when: Callable[[Answers], bool] = lambda _: True
    key: str = ""

    @property
    def left_open(self) -> str:
        """What is done where nobody knows, and within what the value may lie."""
        if not self.key:
            return self.unknown
        said = documented()[self.key]
        within = "may be" if " to " in said.assumed else "may be off by"
        spread = "either" if said.assumed == "any" else f"{within} {said.assumed}: {said.if_not}"
        return f"{self.unknown}; {spread}"

    def shown(self, units: str) -> str:
        """Return the question with an example in a unit system."""
        example = self.example.get(units, self.example.get("", ""))
        return f"{self.ask}\n  such as: {example}" if example else self.ask


def _units(text: str, _: Answers) -> str:
    word = text.strip().lower()
    for units, pattern in (
        ("inch", r"in(ch(es)?)?|imperial|us|ft|feet"),
        ("metric", r"m(m|etric)?|si"),
    ):
        if re.fullmatch(pattern, word):
            return units
    raise InputError("units", repr(text), "inches or millimetres")


def _size(name: str) -> Callable[[str, Answers], SizeRow | str | list[str]]:
    """Return a reader of a size of the catalogue, by its id or a part of it, or of a diameter."""

    def read(text: str, said: Answers) -> SizeRow | str | list[str]:
        wanted, rows = _plain(text), catalogue_sizes()
        fits = [row for row in rows if wanted in (_plain(row.id), _plain(row.label))]
        fits = fits or [r for r in rows if wanted in _plain(r.id) or wanted in _plain(r.label)]
        found: SizeRow | str | list[str] | None = fits[0] if len(fits) == 1 else None
        if found is None:
            with suppress(InputError, PydanticCustomError):
                read = typed.readings(name, text, _LENGTH, said["units"])
                found = read if _LEAST_MM <= float(_LENGTH.read(read)) <= _MOST_MM else None
        if found is None or found == said.get("size"):
            listed = ", ".join(row.id for row in fits or rows)
            span = f"{_LEAST_MM:g} to {_MOST_MM:g} mm"
            allowed = f"the diameter of the body, {span}, or one of {listed}"
            raise InputError(name, repr(text), allowed if found is None else "another can")
        return found

    return read


def _plain(text: str) -> str:
    return re.sub(r"[\W_]", "", text.lower())


def _quantity(name: str, kind: f.Of) -> Callable[[str, Answers], Any]:
    return lambda text, said: typed.quantity(name, text, kind, said["units"])


def _each(name: str, kind: f.Of) -> Callable[[str, Answers], dict[str, str | None]]:
    """Return a reader of one quantity for every stage, or for each by its name."""

    def read(text: str, said: Answers) -> dict[str, str | None]:
        named = typed.by_stage(name, text, _stage_names(said))
        return {
            stage: None if typed.is_unknown(one) else typed.quantity(name, one, kind, said["units"])
            for stage, one in named.items()
        }

    return read


def _clear_width(text: str, said: Answers) -> dict[str, str | None]:
    found = _each("clear width", _LENGTH)(text, said)
    if said["mat width"] is not None:
        mat = float(_LENGTH.read(said["mat width"]))
        for stage, width in found.items():
            if width is not None and _LENGTH.read(width) > mat:
                allowed = f"at most the mat's width, {said['mat width']}"
                raise InputError("clear width", f"{stage} {width}", allowed)
    return found


def _stages(text: str, said: Answers) -> list[tuple[str, str, str | None]]:
    return typed.stages("stages", text, _LENGTH, said["units"])


def _stage_names(said: Answers, *, spraying: bool = False) -> list[str]:
    rows = said["stages"] or USUAL
    return [name for name, duty, _ in rows if not spraying or DUTIES[duty].sprays]


def _headers(text: str, said: Answers) -> dict[str, tuple[int, str]]:
    """Read how many pairs of headers each stage has, or headers on one side only."""
    found = {}
    for stage, said_of in typed.by_stage(
        "headers", text, _stage_names(said, spraying=True)
    ).items():
        match = re.fullmatch(r"(\d{1,3}|none|no)\s*(pairs?|both|above|below|)", said_of.lower())
        if match is None:
            allowed = 'a number of pairs, or "2 above" where there is nothing below'
            raise InputError("headers", repr(f"{stage} {said_of}"), allowed)
        count = int(match[1]) if match[1].isdecimal() else 0
        found[stage] = (count, match[2] if match[2] in ("above", "below") else "both")
    return found


def _rows(text: str, _: Answers) -> str:
    word = text.strip().lower()
    for rows in ("along", "across"):
        if word and rows.startswith(word) and len(word) > 1:
            return rows
    raise InputError("rows", repr(text), "along or across")


def _wires(text: str, said: Answers) -> list[str]:
    found = typed.readings("wires", text, _LENGTH, said["units"])
    heights = found if isinstance(found, list) else [found]
    values = [_LENGTH.read(one) for one in heights]
    if any(b <= a for a, b in pairwise(values)):
        raise InputError("wires", repr(text), "heights above the mat, lowest first")
    return heights


def _own(name: str) -> Callable[[Answers], bool]:
    """Return whether a size is given by its diameter, so that its height is asked for."""
    return lambda said: isinstance(said.get(name), str | list)


USUAL: Final = (
    ("pre-rinse", "rinse", None),
    ("pre-wash", "flood", None),
    ("wash", "flood", None),
    ("rinse", "rinse", None),
    ("treatment", "flood", None),
    ("DI rinse", "rinse", None),
)
"""The stages taken where nobody knows them: common practice, no source."""

_OF_SIZE: Final = {
    "": "us_12oz_std; or the body's diameter: 66.05, 66.12, 66.08 mm (readings) or 66.09 ± 0.05 mm"
}
_HEIGHT: Final = {"metric": "124.3 mm", "inch": "4.894 in"}

QUESTIONS: Final = (
    Question(
        "name", "What is the line called?", {"": "Line 3"}, lambda text, _: text.strip(), "New line"
    ),
    Question(
        "units",
        "Do you speak in inches or in millimetres? Bare numbers are read so.",
        {"": "inches"},
        _units,
        "millimetres",
    ),
    Question(
        "size",
        "Which can does it run? A size of the catalogue (packsim sizes), or its diameter.",
        _OF_SIZE,
        _size("size"),
        "the 12 oz can of the catalogue, us_12oz_std",
    ),
    Question(
        "height",
        "How high is that body, trimmed and not necked?",
        _HEIGHT,
        _quantity("height", _LENGTH),
        "that of the catalogue's can of the nearest diameter",
        when=_own("size"),
    ),
    Question(
        "next size",
        "Which other can is it to run? The same way; leave it empty for none.",
        _OF_SIZE,
        _size("next size"),
        "none",
    ),
    Question(
        "next height",
        "How high is that body, trimmed and not necked?",
        _HEIGHT,
        _quantity("next height", _LENGTH),
        "that of the catalogue's can of the nearest diameter",
        when=_own("next size"),
    ),
    Question(
        "mat width",
        "How wide is the mat?",
        {"metric": "1600 mm", "inch": "63 in"},
        _quantity("mat width", _LENGTH),
        "a usual one",
        key="mat.width",
    ),
    Question(
        "mat speed",
        "How fast does the mat run?",
        {"metric": "6 m/min", "inch": "20 ft/min"},
        _quantity("mat speed", f.kind_of(f.Speed)),
        "a usual one",
        key="mat.speed",
    ),
    Question(
        "stages",
        "Which stages does a can pass, in order, and how long is each?",
        {
            "metric": "pre-wash 2500 mm, wash 4 m, rinse 2 m",
            "inch": "pre-wash 8 ft, wash 12 ft, rinse 6 ft",
        },
        _stages,
        "six usual ones: " + ", ".join(name for name, _, _ in USUAL),
    ),
    Question(
        "clear width",
        "How far apart are the side guides, face to face? Once for all, or stage by stage.",
        {"metric": "1391 mm ± 1 mm", "inch": "54 3/4 in; or: pre-wash 54 3/4 in, wash 54 5/8 in"},
        _clear_width,
        "half a per cent more than the lanes that fit the mat need",
        key="stages.clear_width",
    ),
    Question(
        "rows",
        "How do the rows of touching cans run: along the guides, or straight across the mat?",
        {"": "along"},
        _rows,
        "left out: the answers take along, and it may be either",
    ),
    Question(
        "wires",
        "How high above the mat are the guide wires, lowest first?",
        {"metric": "30, 72, 114 mm", "inch": "1 1/4, 2 3/4, 4 1/4 in"},
        _wires,
        "three, spread over the height of the can",
        key="guides.wire_heights",
    ),
    Question(
        "headers",
        "How many pairs of spray headers, one above and one below, has each stage?",
        {"": "wash 4, rinse 2, pre-rinse 1 above; or one number for all"},
        _headers,
        "one pair for each 0.6 m (2 ft) of a stage that sprays",
        when=lambda said: bool(_stage_names(said, spraying=True)),
    ),
    Question(
        "pressures",
        "What is the spray pressure? Once for all, or stage by stage.",
        {"metric": "wash 2.2 bar, rinse 1 bar", "inch": "wash 32 psi, rinse 15 psi"},
        _each("pressures", f.kind_of(f.Pressure)),
        "a usual one",
        when=lambda said: any(count for count, _ in (said["headers"] or {"": (1, "")}).values()),
        key="headers.pressure",
    ),
    Question(
        "temperatures",
        "How hot is it? Once for all, or stage by stage.",
        {"metric": "wash 60, rinse 25 degC", "inch": "wash 140 degF, rinse 80 degF"},
        _each("temperatures", f.kind_of(f.Temperature)),
        "left out: taken as cold",
        key="stages.temperature",
    ),
)
"""Every question, in the order they are asked."""
