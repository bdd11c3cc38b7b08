"""Where and how a file has its values, for complaints of them and questions about them."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from packsim.errors import InputError, InputErrors
from packsim.line import Unlikely
from packsim.scenario.complaints import (
    OLD_NAME,
    UNKNOWN,
    WrongUnit,
    did_you_mean,
    key_path,
    written,
)

Loc = tuple[int | str, ...]
"""A place in a file: keys, and numbers in lists."""

_PART: Final = r"""(?:[A-Za-z0-9_-]+|"[^"\\]*"|'[^']*')"""
_HEADER: Final = re.compile(rf"\s*(\[\[?)\s*({_PART}(?:\s*\.\s*{_PART})*)\s*\]\]?\s*(?:#.*)?$")
_PAIR: Final = re.compile(r"\s*([A-Za-z0-9_.-]+)\s*=\s*")
_FENCES: Final = ('"""', "'''")


def placed(
    problem: InputError, file: str, data: dict[str, Any], place: Callable[[str], str]
) -> InputError:
    """Return complaints with the file, the values as it has them, and the place of their keys.

    Those of a file it includes have all that already.
    """
    if problem.file is not None:
        return problem
    found = []
    for one in problem.each:
        got, asked = as_written(data, one.key, one.got), ""
        for key, span in one.likely.items() if isinstance(one, WrongUnit) else ():
            question = did_you_mean(str(as_written(data, key, "")), *span)
            asked += f"; {'' if key == one.key else key + ' '}{question}" if question else ""
        found.append(InputError(one.key, got, one.allowed + asked, file, place(one.key)))
    found.sort(key=lambda one: [int(number) for number in re.findall(r"[0-9]+", one.place)])
    return found[0] if len(found) == 1 else InputErrors(found)


def as_written(data: dict[str, Any], path: str, got: object) -> object:
    """Return the value at a key path as the file has it, or ``got`` if that says more."""
    here: Any = data
    for part in re.findall(r"[^.\[\]]+", path):
        try:
            here = here[int(part) if isinstance(here, list) else part]
        except (KeyError, IndexError, TypeError, ValueError):
            return got
    return got if got in (UNKNOWN, OLD_NAME) or isinstance(here, dict | list) else written(here)


@dataclass(slots=True)
class Homes:
    """Where a file has what is said once for several places, and complaints of that.

    Parameters
    ----------
    known : dict
        Where the file has a value, which stage took it over and from which, by where it holds.
    complaints : list of InputError
        What is wrong with it, under the file's own keys.
    lost : list of str
        Key paths of tables that lack what they should be like; what they lack is not said.
    fits : bool
        Whether every value can be by itself: a complaint then says in which stage it cannot.
    """

    known: dict[Loc, tuple[Loc, tuple[object, str] | None]] = field(default_factory=dict)
    complaints: list[InputError] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    fits: bool = False

    def by_path(self) -> dict[str, tuple[Loc, tuple[object, str] | None]]:
        """Return what is known by the key path where it holds, for `home_of`."""
        return {key_path(loc): home for loc, home in self.known.items()}

    def all_of(self, problem: InputError) -> InputError:
        """Return all complaints, further ones too, each once under the file's own key.

        Those of a file it includes stay as they are.
        """
        if problem.file is not None:
            return problem
        found = {(one.key, str(one.got), one.allowed): ("", one) for one in self.complaints}
        known = self.by_path()
        for one in problem.each:
            key, taker = home_of(one.key, known)
            taker = taker if self.fits else ""
            if one.got == "nothing" and key.startswith(tuple(f"{path}." for path in self.lost)):
                continue
            likely = one.likely if isinstance(one, WrongUnit) else {}
            likely = {home_of(path, known)[0]: span for path, span in likely.items()}
            same = (key, str(one.got), one.allowed)
            if same not in found or not taker:
                found[same] = taker, WrongUnit(key, str(one.got), one.allowed + taker, likely)
        return InputErrors([one for _, one in found.values()])


def home_of(
    path: str, known: Mapping[str, tuple[Loc, tuple[object, str] | None]]
) -> tuple[str, str]:
    """Return where the file has a value, and in words which stage took it over."""
    start = path
    while start and start not in known:
        start = outer(start)
    if not start:
        return path, ""
    home, taker = known[start]
    name, like = taker or ("", "")
    said = f', in stage "{written(name)}"' if taker else ""
    said += f', which is like "{like}"' if like else ""
    return key_path(home) + path[len(start) :], said


def outer(path: str) -> str:
    """Return the key path of what a value lies in."""
    return path[: max(path.rfind("."), path.rfind("["), 0)]


class Places(dict[str, str]):
    """Where each value of a file stands, by key path."""

    def of(self, path: str) -> str:
        """Return the place of a value, of what it lies in where it is missing, or nothing."""
        while path and path not in self:
            path = outer(path)
        return self.get(path, "")


class TomlPlaces(Places):
    r"""The places of one TOML text that could be read, by key path.

    Examples
    --------
    >>> places = TomlPlaces("a = 1\n[[t]]\nb = 2\n[[t]]\nb = [{ c = 3 }]\n")
    >>> places.of("t[1].b"), places.of("t[1].b[0].c"), places.of("t[0].d"), places.of("u")
    ('line 5, column 5', 'line 5, column 5', 'line 2, column 1', '')
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self._counts: dict[str, int] = {}
        here, fence = "", ""
        for number, line in enumerate(text.splitlines(), start=1):
            if fence:
                fence = "" if fence in line else fence
                continue
            heading, pair = _HEADER.match(line), _PAIR.match(line)
            if heading is not None:
                here = self._table(heading[2], new=heading[1] == "[[")
                self.setdefault(here, _cell(number, line.index("[")))
            elif pair is not None:
                self.setdefault(f"{here}.{pair[1]}".lstrip("."), _cell(number, pair.end()))
                fence = _opened(line[pair.end() :])

    def _table(self, name: str, *, new: bool) -> str:
        """Return the path of a table from its heading, counting the tables of a list."""
        parts, path = [part.strip("\"'") for part in re.findall(_PART, name)], ""
        for i, part in enumerate(parts):
            path = f"{path}.{key_path((part,))}".lstrip(".")
            if new and i == len(parts) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path += f"[{self._counts[path]}]"
        return path


def _cell(line: int, before: int) -> str:
    return f"line {line}, column {before + 1}"


def _opened(value: str) -> str:
    """Return the fence of a text over several lines that starts and does not end here."""
    fence = next((mark for mark in _FENCES if value.startswith(mark)), "")
    return "" if fence and fence in value[3:] else fence


def unlikely_at(
    key: str, value_mm: float, usual_mm: tuple[float, float], data: dict[str, Any] | None
) -> Unlikely:
    """Ask about a value; where no file says in which unit it was written, two are tried."""
    low, high = usual_mm
    units = {"mm": 1.0, "in": 25.4, "ft": 304.8}
    texts = sorted((f"{value_mm / size:.9g} {unit}" for unit, size in units.items()), key=len)[:2]
    written_so = as_written(data or {}, key, None)
    text = f"{value_mm:g} mm" if written_so is None else str(written_so)
    asked = filter(None, (did_you_mean(one, low, high) for one in ([text] if data else texts)))
    return Unlikely(key, text, f"{low:.4g} to {high:.4g} mm", next(asked, ""))
