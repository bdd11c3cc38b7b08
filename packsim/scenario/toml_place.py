"""Where in a TOML text every value stands, so that a complaint can name its line and column."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["TomlPlaces"]

_HEADER: Final = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.\s-]+?)\s*\]\]?\s*(?:#.*)?$")
_PAIR: Final = re.compile(r"\s*([A-Za-z0-9_.-]+)\s*=\s*")
_FENCES: Final = ('"""', "'''")


class TomlPlaces:
    r"""The places of one text, by key path.

    Parameters
    ----------
    text : str
        TOML that could be read.

    Examples
    --------
    >>> places = TomlPlaces("a = 1\n[[t]]\nb = 2\n[[t]]\nb = [{ c = 3 }]\n")
    >>> places.of("t[1].b"), places.of("t[1].b[0].c"), places.of("t[0].d"), places.of("u")
    ('line 5, column 5', 'line 5, column 5', 'line 2, column 1', '')
    """

    def __init__(self, text: str) -> None:
        self._found: dict[str, tuple[int, int]] = {}
        self._counts: dict[str, int] = {}
        here, fence = "", ""
        for number, line in enumerate(text.splitlines(), start=1):
            if fence:
                fence = "" if fence in line else fence
                continue
            heading, pair = _HEADER.match(line), _PAIR.match(line)
            if heading is not None:
                here = self._table(heading[2], new=heading[1] == "[[")
                self._found.setdefault(here, (number, line.index("[") + 1))
            elif pair is not None:
                self._found.setdefault(f"{here}.{pair[1]}".lstrip("."), (number, pair.end() + 1))
                fence = _opened(line[pair.end() :])

    def of(self, path: str) -> str:
        """Return the place of a value, of what it lies in where it is missing, or nothing."""
        while path:
            if path in self._found:
                line, column = self._found[path]
                return f"line {line}, column {column}"
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        return ""

    def _table(self, name: str, *, new: bool) -> str:
        """Return the path of a table from its heading, counting the tables of a list."""
        parts, path = [part.strip() for part in name.split(".")], ""
        for i, part in enumerate(parts):
            path = f"{path}.{part}".lstrip(".")
            if new and i == len(parts) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path += f"[{self._counts[path]}]"
        return path


def _opened(value: str) -> str:
    """Return the fence of a text over several lines that starts and does not end here."""
    fence = next((mark for mark in _FENCES if value.startswith(mark)), "")
    return "" if fence and fence in value[3:] else fence
